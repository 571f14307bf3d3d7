"""Which plant is this: doubts, and what settles them without a swap."""

from datetime import date
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Swap
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import correct, strike
from lifecycle.records.crops.identity import doubt
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, VarietyFactory, a_plant, an_entry
from tests.records.identities import TODAY, by_variety, doubted, settled

pytestmark = pytest.mark.django_db


@pytest.fixture
def other(world: World) -> Plant:
    return a_plant(world.member, world.bench, name="The other", phase="growing")


def test_a_doubt_is_a_state_of_the_plant(world: World) -> None:
    entry = doubted(world, world.plant, note="Washed out")
    world.plant.refresh_from_db()
    assert world.plant.in_doubt
    assert (entry.choice, entry.note, entry.other) == ("faded", "Washed out", None)
    strike(world.member, entry, "", now=NOON)
    world.plant.refresh_from_db()
    assert not world.plant.in_doubt


def test_a_doubt_of_two_is_written_on_both_or_on_none(world: World, other: Plant) -> None:
    uuid = uuid4()
    first = doubted(world, world.plant, other, uuid=uuid)
    assert doubted(world, world.plant, other, uuid=uuid) == first
    twins = Entry.objects.filter(kind=Kind.IN_DOUBT)
    assert {(each.plant, each.other) for each in twins} == {
        (world.plant, other),
        (other, world.plant),
    }
    assert set(Plant.objects.values_list("in_doubt", flat=True)) == {True}
    too_early = date(2026, 5, 19)
    with pytest.raises(Refused, match="before the record begins"):
        doubted(world, world.plant, other, happened_on=too_early)
    assert twins.count() == 2


def test_a_doubt_with_a_plant_that_ended_stays_on_the_living_one(
    world: World, other: Plant
) -> None:
    an_entry(world.member, other, Kind.ENDED, choice="died")
    doubted(world, world.plant, other)
    assert [each.plant for each in Entry.objects.filter(kind=Kind.IN_DOUBT)] == [world.plant]
    with pytest.raises(Refused, match="this record ended"):
        doubted(world, other, world.plant, happened_on=TODAY)


@pytest.mark.parametrize(
    ("why", "with_other", "words"),
    [
        ("swapped", False, "Name the other plant"),
        ("faded", True, "Name the other plant"),
        ("eaten", False, "choose one of"),
    ],
)
def test_a_doubt_says_why(
    world: World, other: Plant, why: str, with_other: bool, words: str
) -> None:
    with pytest.raises(Refused, match=words):
        doubted(world, world.plant, other if with_other else None, why=why)
    assert not Entry.objects.filter(kind=Kind.IN_DOUBT).exists()


def test_only_plants_of_this_garden_and_not_the_plant_itself(world: World) -> None:
    stranger = MembershipFactory(role="owner")
    with pytest.raises(Refused, match="cannot swap with itself"):
        doubted(world, world.plant, world.plant)
    for act in (doubted, settled):
        with pytest.raises(Refused, match="plants of this garden"):
            act(world, world.plant, Plant(garden=stranger.garden, code="ZZZZZZ"))
    with pytest.raises(PermissionDenied):
        doubt(
            world.committee,
            world.plant,
            why="faded",
            other=None,
            happened_on=TODAY,
            note="",
            uuid=uuid4(),
            now=NOON,
        )


def test_the_label_was_right(world: World) -> None:
    doubted(world, world.plant)
    entry = by_variety(world, world.plant)
    world.plant.refresh_from_db()
    assert not world.plant.in_doubt
    assert entry.variety == world.plant.variety == world.plant.label_variety
    with pytest.raises(Refused, match="Nobody doubts that this is Cayenne"):
        by_variety(world, world.plant)


def test_another_variety_follows_the_record_and_the_label_keeps_its_word(world: World) -> None:
    ancho = VarietyFactory(garden=world.garden, name="Ancho")
    said = world.plant.variety
    doubted(world, world.plant)
    uuid = uuid4()
    entry = by_variety(world, world.plant, ancho, uuid=uuid)
    assert by_variety(world, world.plant, ancho, uuid=uuid) == entry
    world.plant.refresh_from_db()
    assert (world.plant.variety, world.plant.label_variety) == (ancho, said)
    assert world.plant.planned_on is None
    assert list(mismatches()) == []
    # A correction keeps the variety; a strike gives the label's word back.
    new = correct(world.member, entry, Draft(Kind.SETTLED, TODAY, choice="leaf"), "", now=NOON)
    assert new.variety == ancho
    strike(world.member, new, "", now=NOON)
    world.plant.refresh_from_db()
    assert (world.plant.variety, world.plant.in_doubt) == (said, True)


def test_the_last_settlement_counts(world: World) -> None:
    ancho = VarietyFactory(garden=world.garden, name="Ancho")
    by_variety(world, world.plant, ancho, happened_on=date(2026, 9, 1))
    by_variety(world, world.plant)
    world.plant.refresh_from_db()
    assert world.plant.variety == world.plant.label_variety


def test_a_settlement_before_the_doubt_settles_nothing(world: World, other: Plant) -> None:
    doubted(world, world.plant, other)
    early = date(2026, 8, 1)
    with pytest.raises(Refused, match="doubted later than the day given"):
        by_variety(world, world.plant, happened_on=early)
    with pytest.raises(Refused, match="doubted later than the day given"):
        settled(world, world.plant, other, happened_on=early)
    assert not Entry.objects.filter(kind=Kind.SETTLED).exists()
    assert not Swap.objects.exists()


def test_not_swapped_ends_both_doubts(world: World, other: Plant) -> None:
    doubted(world, world.plant, other)
    uuid = uuid4()
    for _ in range(2):
        assert settled(world, world.plant, other, since=None, uuid=uuid) is None
    assert Entry.objects.filter(kind=Kind.SETTLED).count() == 2
    assert set(Plant.objects.values_list("in_doubt", flat=True)) == {False}
    assert not Swap.objects.exists()
