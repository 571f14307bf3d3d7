"""Beds are held by one, by several, or by everybody; who held them when stays on record."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import BedHolding, Membership, Person, Place
from lifecycle.records.ground.holdings import beds_held_by, hold, holders_of, let_go, set_common
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory
from tests.records.threads import all_at_once

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
SPRING = date(2026, 4, 1)
DAY = timedelta(1)


def held(world: World, who: Membership, since: date = SPRING, place: Place | None = None):
    return hold(world.coordinator, place or world.bed, who.person, since, NOON)


def holders(world: World, day: date = TODAY) -> list[Person]:
    return holders_of([world.bed], day).get(world.bed.pk, [])


def test_common_ground_becomes_a_plot_with_its_first_holder(world: World) -> None:
    assert world.bed.common
    row = held(world, world.member)
    assert (row.garden, row.since, row.until) == (world.garden, SPRING, None)
    assert not Place.objects.get(pk=world.bed.pk).common
    assert holders(world) == [world.member.person]
    assert holders(world, SPRING - DAY) == []


def test_several_hold_a_bed_together_longest_first(world: World) -> None:
    held(world, world.owner, SPRING + DAY)
    held(world, world.member)
    assert holders(world) == [world.member.person, world.owner.person]
    other = PlaceFactory(site=world.site)
    held(world, world.member, place=other)
    with CaptureQueriesContext(connection) as queries:
        found = holders_of([world.bed, other.pk, world.bench], TODAY)
    assert len(queries) == 1
    assert set(found) == {world.bed.pk, other.pk}
    assert beds_held_by(world.member.person, world.garden.pk, TODAY) == sorted(
        [world.bed, other], key=lambda place: place.position
    )
    assert beds_held_by(world.outsider, world.garden.pk, TODAY) == []


def test_holding_twice_is_holding_once(world: World) -> None:
    first = held(world, world.member)
    assert held(world, world.member, TODAY) == first
    assert BedHolding.objects.count() == 1


def test_letting_go_dates_the_row_and_keeps_it(world: World) -> None:
    held(world, world.member)
    let_go(world.coordinator, world.bed, world.member.person, TODAY, NOON)
    assert holders(world) == []
    assert holders(world, TODAY - DAY) == [world.member.person]
    again = held(world, world.member, TODAY)
    assert BedHolding.objects.count() == 2
    assert again.until is None
    assert not Place.objects.get(pk=world.bed.pk).common


@pytest.mark.parametrize(
    ("since", "sentence"),
    [
        (TODAY + DAY, "15 October 2026 cannot be. Give today, 14 October 2026, or an earlier day."),
        (date(1900, 1, 1), "1 January 1900 cannot be."),
    ],
)
def test_a_day_that_cannot_be_is_refused(world: World, since: date, sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        held(world, world.member, since)
    assert str(refused.value).startswith(sentence)
    assert refused.value.field == "since"
    held(world, world.member)
    for until in (TODAY + DAY, SPRING - DAY):
        with pytest.raises(Refused) as refused:
            let_go(world.coordinator, world.bed, world.member.person, until, NOON)
        assert refused.value.field == "until"
    assert "Give a day from 1 April 2026" in str(refused.value)


def test_two_stretches_of_one_person_do_not_overlap(world: World) -> None:
    held(world, world.member)
    let_go(world.coordinator, world.bed, world.member.person, date(2026, 9, 1), NOON)
    with pytest.raises(Refused, match="held it until 1 September 2026"):
        held(world, world.member, date(2026, 8, 31))


def test_only_members_of_today_hold_beds_of_their_garden(world: World) -> None:
    with pytest.raises(Refused, match="does not belong to this garden"):
        hold(world.coordinator, world.bed, world.outsider, SPRING, NOON)
    Membership.objects.filter(pk=world.member.pk).update(left_on=TODAY)
    with pytest.raises(Refused, match="does not belong to this garden"):
        held(world, world.member)
    for place in (world.bench, world.quarters):
        with pytest.raises(Refused, match="Only beds are held as plots"):
            held(world, world.owner, place=place)
    stranger = MembershipFactory(role="owner")
    for refused in (
        lambda: hold(stranger, world.bed, stranger.person, SPRING, NOON),
        lambda: let_go(stranger, world.bed, world.owner.person, TODAY, NOON),
        lambda: set_common(stranger, world.bed, False),
    ):
        with pytest.raises(Refused, match="does not belong"):
            refused()


def test_who_does_not_hold_it_cannot_let_it_go(world: World) -> None:
    with pytest.raises(Refused, match="Choose one of its holders"):
        let_go(world.coordinator, world.bed, world.member.person, TODAY, NOON)


def test_a_held_plot_cannot_be_made_common(world: World) -> None:
    held(world, world.member)
    with pytest.raises(Refused, match=r"Bed 3 is held by Member\. End that first"):
        set_common(world.coordinator, world.bed, True)
    let_go(world.coordinator, world.bed, world.member.person, TODAY, NOON)
    assert set_common(world.coordinator, world.bed, True).common
    assert not set_common(world.coordinator, world.bed, False).common


def test_only_coordinators_and_owners_say_who_holds_a_bed(world: World) -> None:
    for who in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            hold(who, world.bed, who.person, SPRING, NOON)
        with pytest.raises(PermissionDenied):
            let_go(who, world.bed, who.person, TODAY, NOON)
        with pytest.raises(PermissionDenied):
            set_common(who, world.bed, False)


@pytest.mark.django_db(transaction=True)
def test_the_same_holder_added_at_the_same_moment_is_one(world: World) -> None:
    rows = all_at_once(8, lambda _: held(world, world.member).pk)
    assert len(set(rows)) == 1
    assert BedHolding.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_bed_is_not_made_common_while_somebody_takes_it(world: World) -> None:
    def act(number: int) -> object:
        if number % 2:
            return held(world, world.member)
        return set_common(world.coordinator, world.bed, True)

    all_at_once(6, act)
    place = Place.objects.get(pk=world.bed.pk)
    assert place.common is not place.holdings.filter(until__isnull=True).exists()
