"""Frost nights in the record: decisions, marks, uncovering, and what came of it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import DayReading, Entry, FrostBed, FrostNight, Strike
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.nights.frost import (
    call_by_hand,
    mark,
    not_needed,
    uncover,
    undo_uncover,
    what_happened,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import MembershipFactory, PlaceFactory, a_plant, a_sowing
from tests.records.frosts import NIGHT, a_bed, a_night

pytestmark = pytest.mark.django_db

DUSK = datetime(2026, 10, 14, 17, 0, tzinfo=UTC)
MORNING = datetime(2026, 10, 15, 8, 0, tzinfo=UTC)
DONE, NOT_DONE, UNKNOWN = FrostBed.Mark.DONE, FrostBed.Mark.NOT_DONE, FrostBed.Mark.UNKNOWN


@pytest.fixture
def night(world: World) -> FrostNight:
    return a_night(world)


@pytest.fixture
def bed(world: World, night: FrostNight) -> FrostBed:
    return a_bed(night, world.bed)


def entries(kind: str) -> list[Entry]:
    return list(Entry.objects.standing().filter(kind=kind).order_by("pk"))


def test_done_writes_one_entry_a_plant_however_often_it_is_tapped(world, bed) -> None:
    second = a_plant(world.member, world.bed, name="Second")
    for _ in range(2):
        mark(world.member, bed, DONE, now=DUSK)
    assert {entry.plant for entry in entries("covered")} == {world.plant, second}
    assert all(entry.happened_on == NIGHT and not entry.note for entry in entries("covered"))
    bed.refresh_from_db()
    assert (bed.mark, bed.marked_by, bed.marked_at) == (DONE, world.member.person, DUSK)
    assert list(mismatches()) == []


def test_only_what_frost_can_hurt_is_covered(world, bed) -> None:
    a_plant(
        world.member, world.bed, name="Came later", happened_on=NIGHT + timedelta(1), now=MORNING
    )
    a_sowing(world.member, world.bed)
    a_plant(world.member, world.quarters, name="Inside", phase="resting")
    changed = mark(world.member, bed, DONE, now=MORNING)
    assert changed == [world.plant]


def test_taking_it_back_strikes_the_entries_and_doing_it_again_writes_new_ones(world, bed) -> None:
    mark(world.member, bed, DONE, now=DUSK)
    [first] = entries("covered")
    assert mark(world.member, bed, UNKNOWN, now=DUSK + timedelta(minutes=1)) == [world.plant]
    assert entries("covered") == []
    assert Strike.objects.get().entry == first
    bed.refresh_from_db()
    assert (bed.mark, bed.marked_by, bed.marked_at) == ("", None, None)
    mark(world.member, bed, DONE, now=DUSK + timedelta(minutes=2))
    assert [entry.pk for entry in entries("covered")] != [first.pk]
    mark(world.member, bed, NOT_DONE, now=DUSK + timedelta(minutes=3))
    assert entries("covered") == []
    assert list(mismatches()) == []


def test_another_member_does_not_take_back_what_one_covered_a_coordinator_does(world, bed) -> None:
    mark(world.member, bed, DONE, now=DUSK)
    other = MembershipFactory(garden=world.garden)
    with pytest.raises(PermissionDenied):
        mark(other, bed, NOT_DONE, now=DUSK)
    bed.refresh_from_db()
    assert bed.mark == DONE
    assert len(entries("covered")) == 1
    mark(world.coordinator, bed, NOT_DONE, now=DUSK)
    assert entries("covered") == []


def test_a_pot_brought_in_is_noted_as_such(world, night) -> None:
    bench = PlaceFactory(site=world.site, kind="bench", name="Wall")
    pot = a_plant(world.member, bench, name="Pot")
    bed = a_bed(night, bench, action=FrostBed.Action.BRING_IN)
    mark(world.member, bed, DONE, now=DUSK)
    uncover(world.member, bed, now=MORNING)
    assert [(e.plant, e.note) for e in entries("covered")] == [(pot, "Brought in for the night.")]
    assert [(e.plant, e.note) for e in entries("uncovered")] == [(pot, "Put out again.")]


def test_uncovering_writes_one_entry_for_each_that_was_covered(world, bed) -> None:
    mark(world.member, bed, DONE, now=DUSK)
    a_plant(world.member, world.bed, name="Not covered")
    for _ in range(2):
        uncover(world.coordinator, bed, now=MORNING)
    [entry] = entries("uncovered")
    assert (entry.plant, entry.happened_on) == (world.plant, date(2026, 10, 15))
    bed.refresh_from_db()
    assert (bed.uncovered_by, bed.uncovered_at) == (world.coordinator.person, MORNING)
    with pytest.raises(Refused, match="uncovered already"):
        mark(world.member, bed, UNKNOWN, now=MORNING)
    assert undo_uncover(world.coordinator, bed, now=MORNING) == [world.plant]
    assert undo_uncover(world.coordinator, bed, now=MORNING) == []
    assert entries("uncovered") == []
    bed.refresh_from_db()
    assert bed.uncovered_at is None
    assert list(mismatches()) == []


def test_what_was_never_covered_is_not_uncovered(world, bed) -> None:
    with pytest.raises(Refused, match="not marked as covered"):
        uncover(world.member, bed, now=MORNING)


@pytest.mark.parametrize(
    ("when", "words"),
    [
        (datetime(2026, 10, 13, 17, tzinfo=UTC), "has not come yet"),
        (datetime(2026, 10, 16, 0, tzinfo=UTC), "is over"),
    ],
)
def test_a_place_is_marked_on_its_night(world, bed, when, words) -> None:
    with pytest.raises(Refused, match=words):
        mark(world.member, bed, DONE, now=when)
    assert entries("covered") == []


def test_marks_that_do_not_exist_and_gardens_that_are_not_ones_own(world, night, bed) -> None:
    with pytest.raises(Refused, match="Choose one of"):
        mark(world.member, bed, "perhaps", now=DUSK)
    stranger = MembershipFactory(role="owner")
    for verb in (
        lambda: mark(stranger, bed, DONE, now=DUSK),
        lambda: uncover(stranger, bed, now=DUSK),
        lambda: undo_uncover(stranger, bed, now=DUSK),
        lambda: not_needed(stranger, night, "warm", now=DUSK),
        lambda: call_by_hand(stranger, night, now=DUSK),
        lambda: what_happened(stranger, night, 1.0, "", now=MORNING),
    ):
        with pytest.raises(Refused, match="does not belong to this garden"):
            verb()


def test_roles(world, night, bed) -> None:
    for verb in (
        lambda who: mark(who, bed, DONE, now=DUSK),
        lambda who: uncover(who, bed, now=DUSK),
        lambda who: undo_uncover(who, bed, now=DUSK),
        lambda who: what_happened(who, night, 1.0, "", now=MORNING),
        lambda who: not_needed(who, night, "warm", now=DUSK),
        lambda who: call_by_hand(who, night, now=DUSK),
    ):
        with pytest.raises(PermissionDenied):
            verb(world.committee)
    for verb in (
        lambda: not_needed(world.member, night, "warm", now=DUSK),
        lambda: call_by_hand(world.member, night, now=DUSK),
    ):
        with pytest.raises(PermissionDenied):
            verb()


def test_not_needed_says_who_and_why(world, night) -> None:
    made = not_needed(world.coordinator, night, "  Cloud came\x00 up ", now=DUSK)
    night.refresh_from_db()
    assert made.state == night.state == "not_needed"
    assert (night.dismissed_by, night.dismissed_why) == (world.coordinator.person, "Cloud came up")
    assert night.called_off_at == DUSK
    for wrong, words in (("  ", "why it is not needed"), ("x" * 201, "201 characters")):
        with pytest.raises(Refused, match=words) as problem:
            not_needed(world.coordinator, night, wrong, now=DUSK)
        assert problem.value.field == "why"
    assert not_needed(world.coordinator, night, "x" * 200, now=DUSK).dismissed_why == "x" * 200


def test_a_coordinator_calls_tonight_by_hand_even_after_it_was_dismissed(world, night) -> None:
    not_needed(world.coordinator, night, "Cloud", now=DUSK)
    called = call_by_hand(world.owner, night, now=DUSK)
    assert (called.state, called.called_by) == ("called", world.owner.person)
    assert (called.dismissed_by, called.dismissed_why, called.called_off_at) == (None, "", None)
    night.refresh_from_db()
    assert night.state == "called"
    assert night.called_at == datetime(2026, 10, 14, 9, tzinfo=UTC)
    FrostNight.objects.update(called_at=None)
    call_by_hand(world.owner, night, now=DUSK)
    night.refresh_from_db()
    assert night.called_at == DUSK


def test_only_the_coming_night_is_called(world, night) -> None:
    with pytest.raises(Refused, match="on its own day"):
        call_by_hand(world.owner, night, now=DUSK - timedelta(1))
    FrostNight.objects.update(state="over")
    for verb in (
        lambda: call_by_hand(world.owner, night, now=DUSK),
        lambda: not_needed(world.owner, night, "warm", now=DUSK),
    ):
        with pytest.raises(Refused, match="is over"):
            verb()


def test_what_happened_is_kept_and_the_low_is_a_reading_of_the_morning(world, night) -> None:
    what_happened(world.member, night, -1.4, "some", now=MORNING)
    night.refresh_from_db()
    assert (night.lowest_c, night.harm) == (-1.4, "some")
    assert (night.outcome_by, night.outcome_at) == (world.member.person, MORNING)
    reading = DayReading.objects.get()
    assert (reading.day, reading.tmin_c) == (date(2026, 10, 15), -1.4)
    # The last word stands, and what is left out stays.
    what_happened(world.member, night, None, "none", now=MORNING)
    night.refresh_from_db()
    assert (night.lowest_c, night.harm) == (-1.4, "none")
    what_happened(world.member, night, 0.0, "", now=MORNING)
    night.refresh_from_db()
    assert (night.lowest_c, night.harm) == (0.0, "none")


@pytest.mark.parametrize(
    ("low", "harm", "when", "field"),
    [
        (None, "", MORNING, "lowest"),
        (None, "eaten", MORNING, "harm"),
        (-61.0, "", MORNING, "lowest"),
        (float("nan"), "", MORNING, "lowest"),
        (-1.0, "", DUSK, ""),
    ],
)
def test_what_cannot_have_happened_is_refused(world, night, low, harm, when, field) -> None:
    with pytest.raises(Refused) as problem:
        what_happened(world.member, night, low, harm, now=when)
    assert problem.value.field == field
    night.refresh_from_db()
    assert night.outcome_at is None
