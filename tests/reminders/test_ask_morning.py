"""A frost night called off, uncovered and asked about afterwards."""

from datetime import timedelta

import pytest

from lifecycle.models import AirReading, Ask, FrostBed, FrostNight, Membership, Message, Person
from lifecycle.records.nights.asks import pass_on
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    SUNSET,
    a_bed,
    a_night,
    an_answered_night,
    asked,
    clock,
    levels,
    told,
)

pytestmark = pytest.mark.django_db
NEXT = NIGHT + timedelta(1)
LATE = clock(22)


@pytest.fixture
def night(world: World) -> FrostNight:
    return an_answered_night(world)


def call_off(night: FrostNight, state: str = "cancelled") -> None:
    FrostNight.objects.filter(pk=night.pk).update(state=state)


def test_a_night_called_again_asks_first_who_had_said_yes(night: FrostNight) -> None:
    call_off(night)
    ask_all(now=BEGIN + MINUTE)
    call_off(night, "called")
    ask_all(now=BEGIN + 10 * MINUTE)
    ana = Ask.objects.get(person__name="Ana")
    assert (ana.state, ana.asked_at) == ("asked", BEGIN + 10 * MINUTE)
    # The second ask of the day does not interrupt.
    mails = Message.objects.filter(about="frost_ask", person=ana.person, channel="email")
    assert list(mails.order_by("pk").values_list("level", flat=True)) == ["act_today", "due"]
    assert sorted(asked(night)) == ["Ana", "Ben", "Wim"]
    call_off(night)
    ask_all(now=BEGIN + 20 * MINUTE)
    assert told("frost_cancel").count("Ana") == 2
    assert told("frost_cancel").count("Ben") == 1


def covered_by(member: Membership) -> None:
    FrostBed.objects.update(mark="done", marked_by=member.person, marked_at=SUNSET)


def reads(world: World, air_c: float, at: object) -> None:
    AirReading.objects.create(garden=world.garden, site=world.site, at=at, air_c=air_c)


def test_whoever_covered_uncovers_when_the_air_is_warm(world: World, night: FrostNight) -> None:
    covered_by(world.member)
    reads(world, 2.1, clock(7, 10, NEXT))
    ask_all(now=clock(7, 29, NEXT))
    assert told("frost_uncover") == []
    ask_all(now=clock(7, 30, NEXT))
    ask_all(now=clock(8, 30, NEXT))
    assert told("frost_uncover") == ["Member"]
    assert levels("frost_uncover") == {"due"}


@pytest.mark.parametrize(
    ("air_c", "read_at"),
    [(2.0, clock(7, 30, NEXT)), (9.0, clock(7, 29, NEXT)), (None, None)],
)
def test_old_or_unknown_air_waits_until_half_past_nine(
    world: World, night: FrostNight, air_c: float | None, read_at: object
) -> None:
    covered_by(world.member)
    if air_c is not None:
        reads(world, air_c, read_at)
    ask_all(now=clock(8, 30, NEXT))
    ask_all(now=clock(9, 29, NEXT))
    assert told("frost_uncover") == []
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Member"]


def test_cold_air_waits_until_half_past_eleven(world: World, night: FrostNight) -> None:
    covered_by(world.member)
    for hour, minute in ((8, 30), (9, 30), (11, 0)):
        reads(world, 2.0, clock(hour, minute, NEXT))
        ask_all(now=clock(hour, minute, NEXT))
    ask_all(now=clock(11, 29, NEXT))
    assert told("frost_uncover") == []
    ask_all(now=clock(11, 30, NEXT))
    assert told("frost_uncover") == ["Member"]


@pytest.mark.parametrize(
    ("low_at", "told_at"),
    [((8, 30), (9, 30)), ((9, 0), (10, 0)), ((11, 0), (11, 30))],
)
def test_unknown_air_waits_an_hour_after_the_low(
    world: World, night: FrostNight, low_at: tuple[int, int], told_at: tuple[int, int]
) -> None:
    covered_by(world.member)
    FrostNight.objects.update(low_at=clock(*low_at, NEXT))
    ask_all(now=clock(*told_at, NEXT) - MINUTE)
    assert told("frost_uncover") == []
    ask_all(now=clock(*told_at, NEXT))
    assert told("frost_uncover") == ["Member"]


def test_where_who_covered_has_left_those_on_call_uncover(world: World, night: FrostNight) -> None:
    covered_by(world.member)
    Membership.objects.filter(pk=world.member.pk).update(left_on=NIGHT)
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Ana", "Ben", "Wim"]


def test_where_nobody_else_is_left_the_coordinator_hears_that_covers_are_on(
    world: World, night: FrostNight
) -> None:
    covered_by(world.member)
    Person.objects.filter(pk=world.member.person_id).update(is_active=False)
    night.site.on_call.all().delete()
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Coordinator"]


def test_where_nobody_marked_anything_who_came_is_reminded(night: FrostNight) -> None:
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Ana"]


@pytest.mark.parametrize("marked", [{"mark": "not_done"}, {"action": "leave"}])
def test_nothing_covered_is_nothing_to_uncover(night: FrostNight, marked: dict[str, str]) -> None:
    FrostBed.objects.update(**marked)
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == []


def test_what_was_called_off_after_covering_is_uncovered_too(
    world: World, night: FrostNight
) -> None:
    covered_by(world.member)
    call_off(night)
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Member"]


def test_a_covered_bed_that_needs_nothing_any_more_is_uncovered(
    world: World, night: FrostNight
) -> None:
    covered_by(world.member)
    FrostBed.objects.update(action="leave")
    call_off(night)
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Member"]
    message = Message.objects.filter(about="frost_uncover").earliest("pk")
    composed = COMPOSERS["frost_uncover"](message, clock(9, 30, NEXT))
    assert composed is not None
    assert "Take the covers off: Bed 3." in [line.text for line in composed.lines]


@pytest.mark.parametrize("state", ["possible", "quiet"])
def test_what_was_covered_is_uncovered_whatever_the_night_came_to(world: World, state: str) -> None:
    a_bed(a_night(world.site, state=state), world.bed)
    covered_by(world.member)
    ask_all(now=clock(9, 30, NEXT))
    assert told("frost_uncover") == ["Member"]


def test_after_midday_it_is_too_late_to_tell(world: World, night: FrostNight) -> None:
    covered_by(world.member)
    ask_all(now=clock(12, day=NEXT))
    assert told("frost_uncover") == []


def test_who_came_is_asked_what_happened_on_the_page_only(night: FrostNight) -> None:
    call = FrostNight.objects.filter(pk=night.pk)
    call.update(state="over")
    ask_all(now=clock(11, 59, NEXT))
    assert told("frost_what_happened", "inbox") == []
    ask_all(now=clock(12, day=NEXT))
    ask_all(now=clock(13, day=NEXT))
    assert told("frost_what_happened", "inbox") == ["Ana"]
    assert told("frost_what_happened") == []


def test_nobody_is_asked_what_somebody_told_already(night: FrostNight) -> None:
    FrostNight.objects.update(state="over", outcome_at=clock(9, day=NEXT))
    ask_all(now=clock(12, day=NEXT))
    assert told("frost_what_happened", "inbox") == []


def test_passing_on_after_all_went_quiet_changes_no_levels(night: FrostNight) -> None:
    wim = night.site.on_call.get(person__name="Wim").person
    pass_on(Ask.objects.get(person__name="Ana"), wim, LATE)
    ask_all(now=LATE)
    assert told("frost_ask") == ["Ana", "Ben"]
