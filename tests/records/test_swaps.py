"""Two labels that had been swapped: history put right, taken back, and never rewritten."""

from datetime import date, timedelta
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Strike, Swap, SwapStrike
from lifecycle.models.entries import AppendOnly
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import correct, log, strike
from lifecycle.records.crops.identity import swap_of, take_back
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.crops.swaps import entries_of
from lifecycle.records.refusal import Refused
from lifecycle.reminders.work.planning import life_of as life
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task, an_entry
from tests.records.identities import SINCE, TODAY, by_variety, doubted, settled, standing

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(hours=1)


@pytest.fixture
def other(world: World) -> Plant:
    return a_plant(world.member, world.bench, name="The other", phase="growing")


def test_a_swap_gives_each_plant_what_was_its_own(world: World, other: Plant) -> None:
    plant = world.plant
    before = an_entry(world.member, plant, Kind.PICKED, happened_on=date(2026, 6, 30))
    moved = an_entry(world.member, plant, Kind.PICKED, happened_on=SINCE, quantity=100.0)
    an_entry(world.member, other, Kind.FED, happened_on=date(2026, 8, 1))
    doubted(world, plant, other)
    uuid = uuid4()
    swap = settled(world, plant, other, uuid=uuid)
    assert settled(world, plant, other, uuid=uuid) == swap
    assert standing(plant) == ["picked", "fed"]
    assert standing(other) == ["picked"]
    plant.refresh_from_db()
    other.refresh_from_db()
    # The pick made the other plant bear; this one bears since it was taken over.
    assert (other.phase, other.phase_since) == ("bearing", SINCE)
    assert plant.phase_since == date(2026, 5, 20)
    assert (plant.in_doubt, other.in_doubt) == (False, False)
    assert list(mismatches()) == []
    # Nothing was rewritten.
    moved.refresh_from_db()
    assert (moved.plant, before.plant) == (plant, plant)
    # What comes in from now on stays with its label, even at the same instant.
    log(world.member, plant, Draft(Kind.WATERED, date(2026, 8, 2)), now=NOON)
    plant.refresh_from_db()
    assert standing(plant) == ["picked", "fed", "watered"]
    assert list(mismatches()) == []


def test_labels_put_right_again_before_it_was_settled(world: World, other: Plant) -> None:
    for day in (date(2026, 6, 30), SINCE, date(2026, 7, 31), date(2026, 8, 1)):
        an_entry(world.member, world.plant, Kind.WATERED, happened_on=day)
    settled(world, world.plant, other, until=date(2026, 8, 1))
    assert standing(world.plant) == ["watered", "watered"]
    assert [entry.happened_on for entry in entries_of(other).filter(kind=Kind.WATERED)] == [
        SINCE,
        date(2026, 7, 31),
    ]


@pytest.mark.parametrize(
    ("since", "until", "field"),
    [
        (TODAY + timedelta(1), None, "since"),
        (SINCE, SINCE, "until"),
        (SINCE, TODAY + timedelta(1), "until"),
    ],
)
def test_the_time_of_a_swap_lies_in_order(
    world: World, other: Plant, since: date, until: date | None, field: str
) -> None:
    with pytest.raises(Refused) as problem:
        settled(world, world.plant, other, since=since, until=until)
    assert problem.value.field == field


def test_a_swap_that_cannot_be_names_what_stands_in_its_way(world: World) -> None:
    young = a_plant(world.member, world.bench, name="Young", phase="seedling")
    an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2026, 8, 1))
    with pytest.raises(Refused) as problem:
        settled(world, world.plant, young)
    assert str(problem.value) == (
        f"Young ({young.code}): Settling this would make these entries impossible: “Picked” on "
        "1 August 2026. Correct or strike them first."
    )
    assert not Swap.objects.exists()


def test_the_one_that_died_was_the_other(world: World, other: Plant) -> None:
    doubted(world, world.plant, other)
    an_entry(world.member, world.plant, Kind.ENDED, choice="died", happened_on=date(2026, 9, 20))
    swap = settled(world, other, world.plant)
    world.plant.refresh_from_db()
    other.refresh_from_db()
    assert (world.plant.phase, world.plant.in_doubt) == ("bearing", False)
    assert other.phase == "ended"
    [entry] = Entry.objects.filter(kind=Kind.SETTLED)
    assert (entry.plant, swap_of(entry)) == (world.plant, swap)
    take_back(world.member, entry, "", now=LATER)
    world.plant.refresh_from_db()
    assert world.plant.phase == "ended"
    assert list(mismatches()) == []


def test_two_that_ended_stay_as_they_are(world: World, other: Plant) -> None:
    for plant in (world.plant, other):
        an_entry(world.member, plant, Kind.ENDED, choice="died")
    with pytest.raises(Refused, match="Both plants have ended"):
        settled(world, world.plant, other)


def test_taking_back_restores_what_was(world: World, other: Plant) -> None:
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 8, 1))
    an_entry(world.member, other, Kind.PICKED, happened_on=date(2026, 8, 2))
    doubted(world, world.plant, other)
    before = (life(world.plant), life(other))
    swap = settled(world, world.plant, other)
    assert (life(world.plant), life(other)) != before
    entry = Entry.objects.get(kind=Kind.SETTLED, plant=other)
    for _ in range(2):
        take_back(world.member, entry, "They were told apart", now=LATER)
    assert (life(world.plant), life(other)) == before
    line = SwapStrike.objects.get()
    assert (line.swap, line.by, line.reason) == (
        swap,
        world.member.person,
        "They were told apart",
    )
    assert Strike.objects.count() == 2
    assert list(mismatches()) == []


def test_a_doubt_of_two_is_taken_back_on_both(world: World, other: Plant) -> None:
    entry = doubted(world, world.plant, other)
    for act in (
        lambda: strike(world.member, entry, "", now=NOON),
        lambda: correct(world.member, entry, Draft(Kind.NOTE, TODAY), "", now=NOON),
    ):
        with pytest.raises(Refused, match="written on two plants"):
            act()
    with pytest.raises(PermissionDenied):
        take_back(MembershipFactory(garden=world.garden), entry, "", now=NOON)
    take_back(world.member, entry, "", now=NOON)
    assert set(Plant.objects.values_list("in_doubt", flat=True)) == {False}
    alone = doubted(world, world.plant)
    with pytest.raises(Refused, match="not written on two plants"):
        take_back(world.member, alone, "", now=NOON)


def test_what_cannot_be_taken_back_says_so(world: World) -> None:
    other = a_plant(world.member, world.bed, phase="growing")
    # The pick under the label of a resting plant stood only because of the swap.
    an_entry(world.member, world.plant, Kind.GONE_TO_REST, happened_on=date(2026, 8, 1))
    settled(world, world.plant, other)
    pick = log(world.member, world.plant, Draft(Kind.PICKED, date(2026, 9, 1)), now=LATER)
    entry = Entry.objects.get(kind=Kind.SETTLED, plant=world.plant)
    with pytest.raises(Refused) as problem:
        take_back(world.member, entry, "", now=LATER)
    assert "Taking this back would make these entries impossible: “Picked”" in str(problem.value)
    strike(world.member, pick.entry, "", now=LATER)
    take_back(world.member, entry, "", now=LATER)


def test_strikes_and_corrections_refold_the_plant_that_owns_the_entry(
    world: World, other: Plant
) -> None:
    pick = an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2026, 8, 1))
    settled(world, world.plant, other)
    other.refresh_from_db()
    assert other.phase == "bearing"
    new = correct(
        world.member, pick, Draft(Kind.PICKED, date(2026, 8, 9), quantity=50.0), "", now=LATER
    )
    other.refresh_from_db()
    assert (new.plant, other.phase_since) == (world.plant, date(2026, 8, 9))
    # Dated before the swap it belongs to its label again.
    old = correct(world.member, new, Draft(Kind.PICKED, date(2026, 6, 1)), "", now=LATER)
    assert standing(world.plant) == ["picked"]
    other.refresh_from_db()
    assert other.phase == "growing"
    assert list(mismatches()) == []
    back = correct(world.member, old, Draft(Kind.PICKED, date(2026, 8, 3)), "", now=LATER)
    assert standing(other) == ["picked"]
    strike(world.member, back, "", now=LATER)
    other.refresh_from_db()
    assert other.phase == "growing"
    assert list(mismatches()) == []


def test_a_done_task_stays_done(world: World, other: Plant) -> None:
    task = a_task(world.plant, "cut_back", counts_from=date(2026, 7, 1))
    entry = an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 8, 1))
    settled(world, world.plant, other)
    task.refresh_from_db()
    assert (task.state, task.entry, task.plant) == ("done", entry, world.plant)
    strike(world.member, entry, "", now=LATER)
    task.refresh_from_db()
    assert task.state == "open"


def test_three_labels_went_round(world: World, other: Plant) -> None:
    third = a_plant(world.member, world.bed, name="The third", phase="growing")
    an_entry(world.member, world.plant, Kind.TIED, happened_on=date(2026, 8, 1))
    an_entry(world.member, other, Kind.STAKED, happened_on=date(2026, 8, 1), choice="cage")
    an_entry(world.member, third, Kind.MULCHED, happened_on=date(2026, 8, 1))
    settled(world, world.plant, other)
    settled(world, world.plant, third, now=LATER)
    assert [standing(each) for each in (world.plant, other, third)] == [
        ["mulched"],
        ["tied"],
        ["staked"],
    ]
    assert list(mismatches()) == []
    # Taking back the first leaves only the second: all three are folded anew.
    first = Entry.objects.filter(kind=Kind.SETTLED, plant=other).get()
    take_back(world.member, first, "", now=LATER + timedelta(1))
    assert [standing(each) for each in (world.plant, other, third)] == [
        ["mulched"],
        ["staked"],
        ["tied"],
    ]
    assert list(mismatches()) == []


def test_a_form_used_before_is_refused(world: World, other: Plant) -> None:
    uuid = uuid4()
    an_entry(world.member, world.plant, Kind.WATERED, uuid=uuid)
    for act in (doubted, by_variety):
        with pytest.raises(Refused, match="already used"):
            act(world, world.plant, uuid=uuid)
    foreign = Swap(
        garden=MembershipFactory().garden,
        uuid=UUID(int=7),
        first=world.plant,
        second=other,
        since=SINCE,
        settled_by=world.member.person,
        at=NOON,
    )
    foreign.save()
    with pytest.raises(Refused, match="already used"):
        settled(world, world.plant, other, uuid=UUID(int=7))


def test_a_swap_is_written_once(world: World, other: Plant) -> None:
    swap = settled(world, world.plant, other)
    assert swap is not None
    for act in (swap.save, swap.delete, lambda: Swap.objects.update(since=TODAY)):
        with pytest.raises(AppendOnly):
            act()
