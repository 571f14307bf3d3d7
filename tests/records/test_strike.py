"""A line through an entry, its replacement, and what that does to tasks."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Strike, Task
from lifecycle.models.entries import AppendOnly
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import correct, log, strike
from lifecycle.records.crops.plants import save_seed
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task, an_entry

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


def test_a_struck_entry_stays_readable_and_no_longer_counts(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.ENDED, choice="died")
    line = strike(world.member, entry, "Wrong plant", now=NOON)
    world.plant.refresh_from_db()
    assert world.plant.phase == "bearing"
    assert (line.by, line.at, line.reason) == (world.member.person, NOON, "Wrong plant")
    assert entry in Entry.objects.all()
    assert entry not in Entry.objects.standing()


def test_striking_twice_is_one_strike(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.WATERED)
    first = strike(world.member, entry, "", now=NOON)
    assert strike(world.member, entry, "again", now=NOON + timedelta(1)) == first
    assert Strike.objects.count() == 1


def test_what_later_entries_need_is_not_struck(world: World) -> None:
    quarters = an_entry(
        world.member,
        world.plant,
        Kind.WINTER_QUARTERS,
        happened_on=date(2026, 9, 20),
        choice="resting",
        place=world.quarters,
    )
    an_entry(world.member, world.plant, Kind.WOKEN, happened_on=date(2026, 10, 1))
    with pytest.raises(Refused) as problem:
        strike(world.member, quarters, "", now=NOON)
    assert str(problem.value) == (
        "Striking this entry would make these entries impossible: “Woken” on 1 October 2026. "
        "Correct or strike them first."
    )


def test_the_beginning_is_not_struck(world: World) -> None:
    [beginning] = world.plant.entries.all()
    with pytest.raises(Refused, match="leave the record empty"):
        strike(world.owner, beginning, "", now=NOON)


def test_an_entry_that_made_other_records_is_not_struck_alone(world: World) -> None:
    save_seed(
        world.member,
        world.plant,
        name="Own seed",
        seeds=20,
        happened_on=TODAY,
        uuid=uuid4(),
        now=NOON,
    )
    entry = world.plant.entries.get(kind=Kind.SEED_SAVED)
    with pytest.raises(Refused, match="act that wrote two records"):
        strike(world.member, entry, "", now=NOON)
    with pytest.raises(Refused, match="act that wrote two records"):
        correct(world.member, entry, Draft(Kind.NOTE, TODAY), "", now=NOON)


def test_a_member_strikes_their_own_a_coordinator_any(world: World) -> None:
    mine = an_entry(world.member, world.plant, Kind.WATERED)
    other = MembershipFactory(garden=world.garden)
    for actor in (other, world.committee):
        with pytest.raises(PermissionDenied):
            strike(actor, mine, "", now=NOON)
    with pytest.raises(Refused, match="does not belong to this garden"):
        strike(MembershipFactory(role="owner"), mine, "", now=NOON)
    assert strike(world.coordinator, mine, "", now=NOON)


@pytest.mark.parametrize("reason", ["x" * 201, "x" * 10_000])
def test_a_reason_has_200_characters(world: World, reason: str) -> None:
    entry = an_entry(world.member, world.plant, Kind.WATERED)
    with pytest.raises(Refused, match="keep it to 200"):
        strike(world.member, entry, reason, now=NOON)
    assert not Strike.objects.exists()


def test_a_correction_of_the_same_day_keeps_its_position(world: World) -> None:
    day = date(2026, 10, 5)
    first = log(world.member, world.plant, Draft(Kind.PICKED, day, quantity=100), now=NOON).entry
    log(world.member, world.plant, Draft(Kind.CUT_BACK, day), now=NOON + timedelta(minutes=5))
    new = correct(
        world.member,
        first,
        Draft(Kind.PICKED, day, quantity=1000),
        "A zero was missing",
        now=NOON + timedelta(hours=1),
    )
    assert (new.replaces, new.stands_at) == (first, first.stands_at)
    assert new.received_at == NOON + timedelta(hours=1)
    world.plant.refresh_from_db()
    # Picked still stands before the cutback, which ends the bearing.
    assert (world.plant.phase, world.plant.last_kind) == ("growing", "cut_back")


def test_a_correction_to_another_day_stands_where_it_belongs(world: World) -> None:
    first = an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 10, 5))
    new = correct(
        world.member, first, Draft(Kind.CUT_BACK, date(2026, 9, 5)), "", now=NOON + timedelta(1)
    )
    world.plant.refresh_from_db()
    assert world.plant.phase_since == date(2026, 9, 5)
    assert new.stands_at == NOON + timedelta(1)


def test_a_correction_that_cannot_stand_there_changes_nothing(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.WATERED)
    with pytest.raises(Refused):
        correct(world.member, entry, Draft(Kind.WOKEN, TODAY), "", now=NOON)
    assert entry in Entry.objects.standing()


def test_a_correction_sent_twice_is_one_and_a_struck_entry_takes_no_other(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.WATERED)
    draft = Draft(Kind.WATERED, TODAY, quantity=3)
    new = correct(world.member, entry, draft, "", now=NOON)
    assert correct(world.member, entry, draft, "", now=NOON) == new
    with pytest.raises(Refused, match="already struck through"):
        correct(world.member, entry, Draft(Kind.WATERED, TODAY), "", now=NOON)


def test_a_correction_takes_no_stranger_and_no_paired_kind(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.WATERED)
    stranger = MembershipFactory().person
    with pytest.raises(Refused, match="not a member"):
        correct(world.member, entry, Draft(Kind.NOTE, TODAY, holder=stranger), "", now=NOON)
    with pytest.raises(Refused, match="written together"):
        correct(world.member, entry, Draft(Kind.CUTTING_TAKEN, TODAY), "", now=NOON)


def test_a_taken_over_plant_may_be_corrected_into_a_pair(world: World) -> None:
    beginning = world.plant.entries.get()
    draft = Draft(
        Kind.INHERITED, beginning.happened_on, quantity=2, choice="bearing", place=world.bed
    )
    correct(world.owner, beginning, draft, "They are two", now=NOON)
    world.plant.refresh_from_db()
    assert world.plant.count == 2


def test_undoing_opens_the_task_again(world: World) -> None:
    task = a_task(world.plant, "cut_back")
    entry = an_entry(world.member, world.plant, Kind.CUT_BACK)
    task.refresh_from_db()
    assert (task.state, task.entry, task.closed_by) == ("done", entry, world.member.person)
    strike(world.member, entry, "", now=NOON)
    task.refresh_from_db()
    assert (task.state, task.entry, task.closed_by, task.closed_at) == ("open", None, None, None)


def test_a_correction_of_the_same_kind_keeps_the_task_done(world: World) -> None:
    task = a_task(world.plant, "cut_back")
    entry = an_entry(world.member, world.plant, Kind.CUT_BACK)
    new = correct(world.member, entry, Draft(Kind.CUT_BACK, TODAY, quantity=10), "", now=NOON)
    task.refresh_from_db()
    assert (task.state, task.entry) == ("done", new)


def test_in_a_series_the_entries_after_the_struck_one_move_up(world: World) -> None:
    entries = []
    for number in (1, 2, 3):
        kind = "first_feed" if number == 1 else "feed"
        a_task(world.plant, kind, number=number, earliest=date(2026, 9, number))
        day = date(2026, 9, 10 + number)
        entries.append(an_entry(world.member, world.plant, Kind.FED, happened_on=day))
    strike(world.member, entries[0], "", now=NOON)
    tasks = Task.objects.order_by("number")
    assert [(task.state, task.entry) for task in tasks] == [
        ("done", entries[1]),
        ("done", entries[2]),
        ("open", None),
    ]


@pytest.mark.parametrize("kind", [Entry, Strike])
def test_what_is_written_once_is_never_changed_or_deleted(world: World, kind: type) -> None:
    strike(world.member, an_entry(world.member, world.plant, Kind.WATERED), "", now=NOON)
    row = kind.objects.first()
    for act in (
        row.save,
        row.delete,
        kind.objects.all().delete,
        lambda: kind.objects.update(pk=1),
        lambda: kind.objects.filter(pk=row.pk).update(garden=None),
        lambda: kind.objects.bulk_update([row], ["garden"]),
    ):
        with pytest.raises(AppendOnly), transaction.atomic():
            act()
    assert kind.objects.filter(pk=row.pk).exists()


def test_a_plant_with_entries_is_not_deleted(world: World) -> None:
    plant = a_plant(world.member, world.bed)
    with pytest.raises(Exception, match="protected"):
        plant.delete()
