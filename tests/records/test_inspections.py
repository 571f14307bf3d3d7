"""The inspection log: what is found, until when it is to be put right, and who may read it."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import BedHolding, Inspection, Membership, Place, Task
from lifecycle.records.ground.inspections import (
    close,
    default_notice,
    holders,
    look,
    notices_for,
    notices_on,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, a_task

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
DAY = timedelta(1)


def held(world: World, *people: Membership, **more: Any) -> Place:
    """A plot that these people hold."""
    plot = PlaceFactory(site=world.site, common=False, name="Plot 7")
    for member in people:
        given = {"since": date(2026, 3, 1), **more}
        BedHolding.objects.create(garden=world.garden, place=plot, person=member.person, **given)
    return plot


def found(world: World, place: Place, **more: Any) -> Inspection:
    given: dict[str, Any] = {
        "looked_on": TODAY,
        "in_order": False,
        "finding": "Bindweed over the path",
        "put_right_by": None,
        "now": NOON,
        **more,
    }
    return look(world.coordinator, place, **given)


def test_a_finding_gives_fourteen_days_and_names_who_was_told(world: World) -> None:
    plot = held(world, world.member, world.owner)
    notice = found(world, plot, finding="  Bindweed \n over the path ")
    assert (notice.finding, notice.in_order) == ("Bindweed over the path", False)
    assert notice.put_right_by == TODAY + timedelta(14)
    assert default_notice() == timedelta(14)
    assert set(notice.told.all()) == {world.member.person, world.owner.person}
    assert notices_on([plot]) == [notice]


def test_a_bed_in_order_needs_nothing(world: World) -> None:
    plot = held(world, world.member)
    seen = found(world, plot, in_order=True, finding="", put_right_by=TODAY + DAY)
    assert (seen.put_right_by, list(seen.told.all())) == (None, [])
    assert not notices_on([plot])
    with pytest.raises(Refused, match="nothing to close"):
        close(world.coordinator, seen, now=NOON)


def test_holders_are_those_of_today_who_still_belong(world: World) -> None:
    left = MembershipFactory(garden=world.garden, left_on=TODAY)
    plot = held(world, world.member, left)
    other = held_before(world, plot)
    assert holders(plot, TODAY) == [world.member.person]
    assert holders(plot, other.until - DAY) == [world.member.person, other.person]


def held_before(world: World, plot: Place) -> BedHolding:
    return BedHolding.objects.create(
        garden=world.garden,
        place=plot,
        person=world.owner.person,
        since=date(2026, 3, 1),
        until=TODAY,
    )


def test_the_same_finding_twice_is_one(world: World) -> None:
    plot = held(world, world.member)
    notice = found(world, plot)
    assert found(world, plot, now=NOON + timedelta(minutes=1)) == notice
    assert found(world, plot, finding="Hose left on the path") != notice
    assert Inspection.objects.count() == 2


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"finding": " "}, "finding"),
        ({"finding": "x" * 301}, "finding"),
        ({"looked_on": TODAY + DAY}, "looked_on"),
        ({"looked_on": TODAY - 367 * DAY}, "looked_on"),
        ({"put_right_by": TODAY - DAY}, "put_right_by"),
        ({"put_right_by": TODAY + 367 * DAY}, "put_right_by"),
    ],
)
def test_what_cannot_be_written_down(world: World, wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as refused:
        found(world, world.bed, **wrong)
    assert refused.value.field == field
    assert not Inspection.objects.exists()


def test_a_notice_is_closed_once(world: World) -> None:
    notice = found(world, held(world, world.member))
    closed = close(world.owner, notice, now=NOON)
    again = close(world.coordinator, notice, now=NOON + 5 * DAY)
    assert (closed.closed_on, closed.closed_by) == (TODAY, world.owner.person)
    assert (again.closed_on, again.closed_by) == (TODAY, world.owner.person)
    assert not notices_on([notice.place])


def test_holders_and_inspectors_read_a_notice_and_others_do_not(world: World) -> None:
    plot = held(world, world.member)
    notice = found(world, plot)
    another = MembershipFactory(garden=world.garden)
    for reader in (world.member, world.coordinator, world.owner):
        assert notices_for(reader, plot, TODAY) == [notice]
    for reader in (another, world.committee):
        assert notices_for(reader, plot, TODAY) == []
    BedHolding.objects.update(until=TODAY)
    assert notices_for(world.member, plot, TODAY) == []


def test_a_plot_that_passes_on_does_not_pass_its_notice_on(world: World) -> None:
    plot, day = held(world, world.member), TODAY + DAY
    notice = found(world, plot)
    BedHolding.objects.update(until=day)
    after = MembershipFactory(garden=world.garden)
    BedHolding.objects.create(garden=world.garden, place=plot, person=after.person, since=day)
    assert notices_for(world.member, plot, TODAY) == [notice]
    assert notices_for(world.member, plot, day) == []
    assert notices_for(after, plot, day) == []
    assert notices_on([plot], after.person) == []
    assert notices_for(world.coordinator, plot, day) == [notice]
    own = found(world, plot, finding="Hose on the path", looked_on=day, now=NOON + DAY)
    assert notices_for(after, plot, day) == notices_on([plot], after.person) == [own]
    assert notices_on([plot]) == [notice, own]


@pytest.mark.parametrize("role", ["member", "committee"])
def test_who_may_not_inspect(world: World, role: str) -> None:
    notice = found(world, world.bed)
    with pytest.raises(PermissionDenied):
        close(getattr(world, role), notice, now=NOON)
    with pytest.raises(PermissionDenied):
        look(
            getattr(world, role),
            world.bed,
            looked_on=TODAY,
            in_order=True,
            finding="",
            put_right_by=None,
            now=NOON,
        )


def test_beds_of_another_garden_are_refused(world: World) -> None:
    stranger = MembershipFactory(role="owner")
    with pytest.raises(Refused, match="does not belong"):
        close(stranger, found(world, world.bed), now=NOON)
    with pytest.raises(Refused, match="does not belong"):
        found(world, PlaceFactory())


def test_a_notice_changes_no_plan(world: World) -> None:
    a_task(world.plant, "cut_back")
    before = (world.plant.version, Task.objects.values_list("latest", "state").get())
    found(world, world.bed)
    world.plant.refresh_from_db()
    assert (world.plant.version, Task.objects.values_list("latest", "state").get()) == before
