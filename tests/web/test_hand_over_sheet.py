"""The hand-over sheet: what grows, what rests unseen, what is due, and whom to ask."""

from collections.abc import Callable
from datetime import date

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import Inspection, Place
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, a_plant, a_sowing, a_task, an_entry
from tests.records.handings import TODAY, a_holding, a_receiver, proposed
from tests.web.pages import a_doubt

SignIn = Callable[[object], Client]


def sheet(client: Client, world: World, query: str = "") -> str:
    answer = client.get(f"{world.address}hand-over-sheet{query}")
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_sheet_says_what_a_newcomer_has_to_know(world: World, as_person: SignIn) -> None:
    a_holding(world.bed, world.member)
    Place.objects.filter(pk=world.bed.pk).update(
        own_rules=True, clear_month=10, clear_day=15, perennials_in_ground=False
    )
    a_plant(world.member, world.bed, name="Sleeper", phase="resting")
    a_plant(world.member, world.quarters, name="In the shed", phase="resting")
    a_plant(world.owner, world.bed, name="Not theirs")
    an_entry(world.member, world.plant, Kind.FED, quantity=20.0)
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 9, 2))
    a_task(world.plant, "mulch")
    a_task(
        world.plant,
        "lift",
        earliest=date(2027, 1, 1),
        best=date(2027, 1, 2),
        latest=date(2027, 1, 3),
    )
    Inspection.objects.create(
        garden=world.garden,
        place=world.bed,
        looked_on=TODAY,
        by=world.coordinator.person,
        at=NOON,
        in_order=False,
        finding="Path overgrown.",
        put_right_by=date(2026, 10, 30),
    ).told.add(world.member.person)
    text = sheet(as_person(world.member), world)
    assert "<h1>Hand-over sheet: 3 plants, 1 resting and maybe not visible</h1>" in text
    assert "Bed 3, Canal bank (plot)" in text
    assert "Must be clear by 15 October each year." in text
    assert "Path overgrown. To be put right by 30 October." in text
    assert "<strong>Do not dig here:</strong> 1 resting" in text
    assert text.count("may show nothing, do not dig") == 1
    assert 'data-label="Last fed">1 October<' in text
    assert 'data-label="Last cut back">2 September<' in text
    assert 'data-label="Last watered">not noted<' in text
    assert "best 10 October, by 20 October" in text
    assert "2 January" not in text
    assert "it may look dead, so leave it in place" in text
    assert world.coordinator.person.email in text
    assert "Not theirs" not in text


def test_notices_of_a_bed_are_for_its_holders_and_who_inspects(
    world: World, as_person: SignIn
) -> None:
    ben = a_receiver(world)
    a_holding(world.bed, ben)
    Inspection.objects.create(
        garden=world.garden,
        place=world.bed,
        looked_on=TODAY,
        by=world.coordinator.person,
        at=NOON,
        in_order=False,
        finding="Path overgrown.",
        put_right_by=date(2026, 10, 30),
    ).told.add(ben.person)
    query = f"?hand_over={proposed(world, ben).pk}"
    assert "Path overgrown." not in sheet(as_person(world.member), world)
    assert "Path overgrown." not in sheet(as_person(world.member), world, query)
    assert "Path overgrown." in sheet(as_person(ben), world, query)
    assert "Path overgrown." in sheet(as_person(world.coordinator), world, query)


def test_open_doubts_and_sowings_are_told(world: World, as_person: SignIn) -> None:
    sowing = a_sowing(world.member, world.bench)
    a_doubt(world)
    text = sheet(as_person(world.member), world)
    assert "not sure which plant this is" in text
    assert sowing.code in text
    assert "seed is in, nothing has come up yet" in text


def test_somebody_without_anything_gets_a_sheet_that_says_so(
    world: World, as_person: SignIn
) -> None:
    assert "nothing is in your hands" in sheet(as_person(world.committee), world)


def test_the_sheet_of_a_hand_over_is_for_its_people(world: World, as_person: SignIn) -> None:
    ben, other = a_receiver(world), a_receiver(world, "Cleo Bank")
    a_plant(world.member, world.bed, name="Stays")
    made = proposed(world, ben)
    query = f"?hand_over={made.pk}"
    for who in (world.member, ben, world.coordinator):
        text = sheet(as_person(who), world, query)
        assert "From 14 October, Member hands Cayenne by the gate" in text
        assert "Stays" not in text
    for who, wrong in (
        (other, query),
        (world.committee, query),
        (ben, "?hand_over=x"),
        (ben, "?hand_over=999999"),
        (ben, "?hand_over="),
    ):
        address = f"{world.address}hand-over-sheet{wrong}"
        assert as_person(who).get(address).status_code == 404, wrong
    assert as_person(world.outsider).get(f"{world.address}hand-over-sheet").status_code == 404


def test_the_sheet_costs_the_same_however_many_plants(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            sheet(client, world)
        return len(caught)

    a_sowing(world.member, world.bench)
    few = queries()
    for _ in range(4):
        place = PlaceFactory(site=world.site)
        for _ in range(3):
            a_task(a_plant(world.member, place), "mulch")
    assert queries() == few
