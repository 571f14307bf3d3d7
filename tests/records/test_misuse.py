"""Forms used twice, too late or on the wrong record: refused, and nothing half written."""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Strike, Task
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import complete, correct, log
from lifecycle.records.crops.plants import inherit, split_pair, take_cuttings
from lifecycle.records.crops.sowings import sow
from lifecycle.records.refusal import Refused
from lifecycle.reminders.work.worklist import refresh
from tests.conftest import World
from tests.factories import (
    NOON,
    MembershipFactory,
    PlaceFactory,
    SiteFactory,
    VarietyFactory,
    a_plant,
)
from tests.records.handings import handed_over
from tests.reminders.climates import give_climate

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 14)


def resting(world: World) -> Plant:
    """Return a plant in its winter room whose watering is due."""
    give_climate(world)
    plant = a_plant(
        world.member, world.quarters, phase="resting", happened_on=TODAY - timedelta(20)
    )
    refresh([plant], now=NOON)
    return plant


def test_a_task_is_done_once_and_the_second_is_told_by_whom(world: World) -> None:
    plant = resting(world)
    task = Task.objects.get(plant=plant, kind="winter_water", state="open")
    complete(world.member, task, plant, Draft(Kind.WATERED, TODAY), now=NOON)
    refresh([plant], now=NOON)
    before = Entry.objects.count()
    with pytest.raises(Refused, match=f"Done by {world.member.person}"):
        complete(world.owner, task, plant, Draft(Kind.WATERED, TODAY), now=NOON)
    assert Entry.objects.count() == before
    assert Task.objects.filter(plant=plant, kind="winter_water", state="done").count() == 1


def test_the_same_done_sent_twice_is_one_entry(world: World) -> None:
    plant = resting(world)
    task = Task.objects.get(plant=plant, kind="winter_water", state="open")
    draft = Draft(Kind.WATERED, TODAY)
    first = complete(world.member, task, plant, draft, now=NOON)
    second = complete(world.member, task, plant, draft, now=NOON)
    assert (first.entry, first.created, second.created) == (second.entry, True, False)


def test_done_before_the_task_counts_is_refused(world: World) -> None:
    plant = resting(world)
    task = Task.objects.get(plant=plant, kind="winter_water", state="open")
    early = Draft(Kind.WATERED, task.counts_from - timedelta(1))
    with pytest.raises(Refused, match="counts from") as problem:
        complete(world.member, task, plant, early, now=NOON)
    assert problem.value.field == "happened_on"
    assert not Entry.objects.filter(plant=plant, kind=Kind.WATERED).exists()


def test_a_form_of_one_garden_is_not_used_in_another(world: World) -> None:
    uuid = uuid4()
    log(world.member, world.plant, Draft(Kind.WATERED, TODAY, uuid), now=NOON)
    other = MembershipFactory(role="owner")
    site = SiteFactory(garden=other.garden)
    with pytest.raises(Refused, match="already used"):
        inherit(
            other,
            variety=VarietyFactory(garden=other.garden),
            name="",
            place=PlaceFactory(site=site),
            phase="growing",
            count=1,
            holder=None,
            happened_on=TODAY,
            note="",
            uuid=uuid,
            now=NOON,
        )


def test_a_hand_over_is_not_replayed_on_another_plant(world: World) -> None:
    uuid, second = uuid4(), a_plant(world.member, world.bed)
    act = {"to": world.owner.person, "happened_on": TODAY, "uuid": uuid, "now": NOON}
    handed_over(world.member, world.plant, **act)
    with pytest.raises(Refused, match="already used"):
        handed_over(world.member, second, **act)


def test_a_pair_split_in_the_past_splits_as_it_stood_then(world: World) -> None:
    pair = a_plant(world.member, world.bed, phase="growing", count=2, happened_on=date(2026, 6, 1))
    moved = Draft(Kind.WINTER_QUARTERS, TODAY, choice="resting", place=world.quarters)
    log(world.member, pair, moved, now=NOON)
    child = split_pair(world.member, pair, happened_on=date(2026, 7, 1), uuid=uuid4(), now=NOON)
    assert (child.phase, child.place, child.phase_since) == (
        "growing",
        world.bed,
        date(2026, 7, 1),
    )


def test_a_beginning_written_by_another_act_is_not_corrected_alone(world: World) -> None:
    [cutting] = take_cuttings(
        world.member,
        world.plant,
        number=1,
        place=world.bench,
        happened_on=TODAY,
        uuid=uuid4(),
        now=NOON,
    )
    entry = cutting.entries.get(kind=Kind.STRUCK_CUTTING)
    draft = Draft(Kind.STRUCK_CUTTING, date(1990, 5, 1), quantity=2, place=world.bench)
    with pytest.raises(Refused, match="act that wrote two records"):
        correct(world.member, entry, draft, "", now=NOON)
    assert not Strike.objects.exists()


def test_a_taken_over_plant_keeps_a_place(world: World) -> None:
    entry = world.plant.entries.get(kind=Kind.INHERITED)
    with pytest.raises(Refused, match="needs a place"):
        correct(
            world.owner,
            entry,
            Draft(Kind.INHERITED, TODAY, quantity=1, choice="growing"),
            "",
            now=NOON,
        )


def test_correcting_with_the_number_of_the_entry_itself_is_refused(world: World) -> None:
    entry = log(world.member, world.plant, Draft(Kind.WATERED, TODAY), now=NOON).entry
    draft = Draft(Kind.WATERED, TODAY, entry.uuid, quantity=7)
    with pytest.raises(Refused, match="already used"):
        correct(world.member, entry, draft, "", now=NOON)


def test_seed_is_not_sown_before_it_was_packed(world: World) -> None:
    with pytest.raises(Refused, match="from 1990 to 2020") as problem:
        sow(
            world.member,
            site=world.site,
            variety=VarietyFactory(garden=world.garden),
            lot_name="Packet 3",
            packed_year=2026,
            place=world.bench,
            seeds=6,
            happened_on=date(2020, 1, 1),
            holder=None,
            uuid=uuid4(),
            now=NOON,
        )
    assert problem.value.field == "packed_year"
