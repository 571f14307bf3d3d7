"""Acts that cannot have been: refused with one sentence, and nothing is written."""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import BedYear, Entry, GerminationTest, Plant, SeedLot, Swap
from lifecycle.records.crops.drafts import EARLIEST
from lifecycle.records.crops.identity import take_back
from lifecycle.records.crops.seeds import test_lot as record_test
from lifecycle.records.ground.ground import note_year
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, a_plant, an_entry
from tests.records.identities import SINCE, TODAY, settled, standing

pytestmark = pytest.mark.django_db
BEGAN = date(2026, 6, 10)


@pytest.fixture
def other(world: World) -> Plant:
    return a_plant(world.member, world.bed, name="The other", happened_on=BEGAN)


@pytest.fixture
def lot(world: World) -> SeedLot:
    return SeedLot.objects.create(
        garden=world.garden, variety=world.plant.variety, name="From a neighbour"
    )


@pytest.mark.parametrize("since", [date(1, 1, 1), BEGAN - timedelta(1)])
def test_labels_cannot_be_swapped_before_both_plants_were_there(
    world: World, other: Plant, since: date
) -> None:
    before = Entry.objects.count()
    with pytest.raises(
        Refused, match=r"^The other has been on record only since 10 June 2026"
    ) as problem:
        settled(world, world.plant, other, since=since)
    assert problem.value.field == "since"
    assert (Swap.objects.count(), Entry.objects.count()) == (0, before)


def test_labels_may_be_swapped_on_the_day_the_later_plant_came(world: World, other: Plant) -> None:
    assert settled(world, world.plant, other, since=BEGAN) is not None


@pytest.mark.parametrize(
    ("since", "until"),
    [
        (SINCE, None),
        (SINCE + timedelta(3), None),
        (SINCE - timedelta(3), SINCE + timedelta(1)),
        (TODAY - timedelta(1), TODAY),
    ],
)
def test_a_swap_settled_by_a_second_person_does_not_swap_back(
    world: World, other: Plant, since: date, until: date | None
) -> None:
    an_entry(world.member, world.plant, Kind.WATERED, happened_on=SINCE)
    settled(world, world.plant, other)
    with pytest.raises(Refused, match="1 July 2026 to 14 October 2026 is settled") as problem:
        settled(world, other, world.plant, since=since, until=until)
    assert problem.value.field == "since"
    assert Swap.objects.count() == 1
    assert standing(other) == [Kind.WATERED]


@pytest.mark.parametrize(
    ("since", "until"),
    [(date(2026, 8, 1), None), (SINCE - timedelta(3), SINCE), (date(2026, 8, 1), TODAY)],
)
def test_the_same_two_may_swap_again_at_another_time(
    world: World, other: Plant, since: date, until: date | None
) -> None:
    settled(world, world.plant, other, until=date(2026, 8, 1))
    assert settled(world, world.plant, other, since=since, until=until) is not None


def test_the_same_two_may_swap_again_from_the_day_it_was_put_right(
    world: World, other: Plant
) -> None:
    settled(world, world.plant, other)
    assert settled(world, world.plant, other, since=TODAY) is not None


def test_a_swap_taken_back_may_be_settled_anew(world: World, other: Plant) -> None:
    settled(world, world.plant, other)
    entry = Entry.objects.filter(kind=Kind.SETTLED).latest("pk")
    take_back(world.member, entry, "Too early", now=NOON)
    assert settled(world, world.plant, other) is not None


def test_another_pair_may_swap_at_the_same_time(world: World, other: Plant) -> None:
    third = a_plant(world.member, world.bed, name="The third")
    settled(world, world.plant, other)
    assert settled(world, other, third) is not None


def test_pots_have_no_rotation(world: World) -> None:
    with pytest.raises(Refused, match="Raising bench is not a bed"):
        note_year(world.coordinator, world.bench, year=2024, family="solanaceae", note="", now=NOON)
    assert not BedYear.objects.exists()


def counted_on(world: World, lot: SeedLot, day: date) -> GerminationTest:
    counted = {"sown": 20, "sprouted": 3, "today": TODAY, "uuid": uuid4(), "now": NOON}
    return record_test(world.member, lot, tested_on=day, **counted)[0]


def test_a_test_too_long_ago_is_not_said_to_be_older_than_the_lot(
    world: World, lot: SeedLot
) -> None:
    with pytest.raises(Refused, match=r"^31 December 1949 is too long ago\.") as problem:
        counted_on(world, lot, EARLIEST - timedelta(1))
    assert problem.value.field == "tested_on"
    assert not GerminationTest.objects.exists()
    assert counted_on(world, lot, EARLIEST).tested_on == EARLIEST
