"""Who holds a bed: added, ended, looked up; seen on the beds' pages, with those who left."""

from collections.abc import Callable
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import BedHolding, Membership, Place
from lifecycle.records.ground.holdings import hold, let_go
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory

SignIn = Callable[..., Client]
SPRING = date(2026, 4, 1)


@pytest.fixture
def lead(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def bed(world: World) -> str:
    return f"{world.address}beds/{world.bed.pk}"


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def a_holding(world: World, who: Membership | None = None) -> BedHolding:
    return hold(world.coordinator, world.bed, (who or world.member).person, SPRING, NOON)


def test_a_holder_is_added_and_ended(world: World, lead: Client, bed: str) -> None:
    page = f"{bed}/holders"
    text = text_of(lead, page)
    assert "Common ground: everybody tends it." in text
    assert "Nobody held it before" in text
    person = world.member.person
    typed = {"act": "hold", "hold-person": person.pk, "hold-since": "2026-04-01"}
    assert lead.post(page, typed)["Location"] == f"{page}?saved=1"
    held = BedHolding.objects.get()
    assert (held.person, held.since, held.until) == (person, SPRING, None)
    text = text_of(lead, f"{page}?saved=1")
    assert "Since 1 April." in text
    assert "Make it common ground" not in text
    assert "Held by Member." in text_of(lead, bed)
    typed = {"act": f"end-{held.pk}", f"end{held.pk}-until": "14 October 2026"}
    assert lead.post(page, typed)["Location"] == f"{page}?saved=1"
    text = text_of(lead, page)
    assert "1 April to 14 October" in text
    assert "A plot that nobody holds." in text
    assert "A plot nobody holds." in text_of(lead, bed)
    assert lead.post(page, {"act": "common"})["Location"] == f"{page}?saved=1"
    assert Place.objects.get(pk=world.bed.pk).common
    lead.post(page, {"act": "plot"})
    assert not Place.objects.get(pk=world.bed.pk).common


def test_days_and_people_that_cannot_be_are_answered_at_their_field(
    world: World, lead: Client, bed: str
) -> None:
    page, stranger = f"{bed}/holders", MembershipFactory()
    good = {"act": "hold", "hold-person": world.member.person_id, "hold-since": "2026-04-01"}
    for wrong, said in (
        ({"hold-since": "2027-01-01"}, "1 January 2027 cannot be."),
        ({"hold-since": "soon"}, "The date was not understood."),
        ({"hold-person": stranger.person_id}, "Who: choose one from the list."),
        ({"hold-person": "x" * 500}, "Who: choose one from the list."),
        ({"hold-person": ""}, "Who: give an answer."),
    ):
        answer = lead.post(page, {**good, **wrong})
        assert answer.status_code == 422
        assert said in answer.content.decode()
    assert not BedHolding.objects.exists()
    held = a_holding(world)
    answer = lead.post(page, {"act": f"end-{held.pk}", f"end{held.pk}-until": "2026-03-01"})
    assert answer.status_code == 422
    assert "Give a day from 1 April 2026" in answer.content.decode()
    answer = lead.post(page, {"act": "common"})
    assert answer.status_code == 422
    assert "is held by Member" in answer.content.decode()


@pytest.mark.parametrize("act", ["end-0", "end-x", "nothing", "\x00"])
def test_an_act_that_is_none_changes_nothing(
    world: World, lead: Client, bed: str, act: str
) -> None:
    a_holding(world)
    assert lead.post(f"{bed}/holders", {"act": act}).status_code == 200
    assert BedHolding.objects.get().until is None


def test_who_has_left_is_shown_as_such(world: World, lead: Client, bed: str) -> None:
    a_holding(world)
    a_holding(world, world.owner)
    let_go(world.coordinator, world.bed, world.member.person, date(2026, 9, 1), NOON)
    Membership.objects.filter(pk=world.member.pk).update(left_on=NOON.date())
    text = text_of(lead, f"{bed}/holders")
    assert "Member (has left the garden)" in text
    assert "Owner (has left the garden)" not in text


def test_beds_begin_with_those_the_reader_holds(world: World, as_person: SignIn, bed: str) -> None:
    first = PlaceFactory(site=world.site, name="Bed 1", position=1)
    plot = PlaceFactory(site=world.site, name="Bed 9", position=9)
    empty = PlaceFactory(site=world.site, name="Bed 10", position=10, common=False)
    hold(world.coordinator, plot, world.committee.person, SPRING, NOON)
    hold(world.coordinator, plot, world.owner.person, SPRING, NOON)
    text = text_of(as_person(world.committee), f"{world.address}beds")
    order = [text.index(f"{place}<") for place in (plot, first, world.bed, empty)]
    assert order == sorted(order)
    assert "Held by Committee, Owner" in text
    assert "A plot nobody holds" in text
    assert "Yours first" in text


def test_members_read_who_holds_a_bed_and_do_not_say_so(
    world: World, as_person: SignIn, bed: str
) -> None:
    a_holding(world)
    for who in (world.member, world.committee):
        client = as_person(who)
        assert "Held by Member." in text_of(client, bed)
        assert "Who holds it" not in text_of(client, bed)
        assert client.get(f"{bed}/holders").status_code == 403
        assert client.post(f"{bed}/holders", {"act": "common"}).status_code == 403
    assert as_person(world.outsider).get(f"{bed}/holders").status_code == 404


def test_pots_and_other_gardens_have_no_holders_here(world: World, lead: Client) -> None:
    assert lead.get(f"{world.address}beds/{world.bench.pk}/holders").status_code == 422
    foreign = PlaceFactory()
    assert lead.get(f"{world.address}beds/{foreign.pk}/holders").status_code == 404


def test_queries_do_not_grow_with_the_holders(world: World, lead: Client, bed: str) -> None:
    seen = []
    for more in (2, 20):
        for _ in range(more):
            a_holding(world, MembershipFactory(garden=world.garden))
        for address in (f"{bed}/holders", f"{world.address}beds", bed):
            with CaptureQueriesContext(connection) as queries:
                assert lead.get(address).status_code == 200
            seen.append(len(queries))
    assert seen[:3] == seen[3:]
    assert seen[0] <= 9
