"""The evening and the morning: not covered, colder, called off, uncover, what happened."""

from datetime import timedelta

import pytest

from lifecycle.models import Ask, FrostBed, FrostNight, Message
from lifecycle.records.nights.asks import volunteer
from lifecycle.reminders.nights.ask_evening import chance_when_told
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
    clock,
    levels,
    on_call,
    told,
)

pytestmark = pytest.mark.django_db
NEXT = NIGHT + timedelta(1)
LATE = clock(22)


@pytest.fixture
def night(world: World) -> FrostNight:
    return an_answered_night(world)


def colder(night: FrostNight, by: float = 1.5, **more: object) -> None:
    """Judge the night again, colder than told and now above the ratio of killing."""
    FrostNight.objects.filter(pk=night.pk).update(
        expected_c=-1.0 - by, **{"kill_chance": 0.8, **more}
    )


def action_changes(night: FrostNight) -> None:
    FrostBed.objects.filter(frost_night=night).update(action="bring_in")


def test_an_hour_before_sunset_who_comes_hears_what_is_not_covered(night: FrostNight) -> None:
    ask_all(now=SUNSET - 61 * MINUTE)
    assert told("frost_uncovered") == []
    for minutes in (60, 59, 1):
        ask_all(now=SUNSET - minutes * MINUTE)
    assert told("frost_uncovered") == ["Ana", "Coordinator"]
    assert levels("frost_uncovered") == {"due"}


@pytest.mark.parametrize("marked", [{"mark": "done"}, {"action": "leave"}])
def test_nothing_is_said_when_nothing_is_left_to_cover(
    night: FrostNight, marked: dict[str, str]
) -> None:
    FrostBed.objects.update(**marked)
    ask_all(now=SUNSET - 30 * MINUTE)
    assert told("frost_uncovered") == []


def test_a_possible_night_that_is_asked_for_is_looked_at_too(night: FrostNight) -> None:
    FrostNight.objects.update(state="possible")
    ask_all(now=SUNSET - 30 * MINUTE)
    assert told("frost_uncovered") == ["Ana", "Coordinator"]
    colder(night)
    action_changes(night)
    ask_all(now=LATE)
    assert told("frost_update") == ["Wim"]


def test_a_possible_night_nobody_asked_for_is_not_looked_at(night: FrostNight) -> None:
    FrostNight.objects.update(state="possible", ask_from=None)
    ask_all(now=SUNSET - 30 * MINUTE)
    assert told("frost_uncovered") == []


def test_after_sunset_what_was_not_marked_stays_unknown(night: FrostNight) -> None:
    ask_all(now=SUNSET)
    assert told("frost_uncovered") == []
    assert FrostBed.objects.get().mark == FrostBed.Mark.UNKNOWN


def test_who_allowed_it_is_woken_when_it_gets_colder_and_the_work_changes(
    night: FrostNight,
) -> None:
    colder(night)
    action_changes(night)
    ask_all(now=LATE)
    ask_all(now=LATE + MINUTE)
    assert told("frost_update") == ["Wim"]
    assert levels("frost_update") == {"act_now"}
    message = Message.objects.get(about="frost_update", channel="email")
    assert (message.not_before, message.expires_at) == (LATE, night.low_at)
    night.refresh_from_db()
    assert night.told_c == -2.5
    assert FrostBed.objects.get().told_action == "bring_in"


def test_it_is_told_once_however_cold_it_gets(night: FrostNight) -> None:
    colder(night)
    action_changes(night)
    ask_all(now=LATE)
    colder(night, by=4)
    FrostBed.objects.update(action="not_enough")
    ask_all(now=LATE + MINUTE)
    assert told("frost_update") == ["Wim"]


def test_a_little_colder_is_no_news(night: FrostNight) -> None:
    colder(night, by=1.49)
    action_changes(night)
    ask_all(now=LATE)
    assert told("frost_update") == []


def test_colder_alone_is_no_news(night: FrostNight) -> None:
    colder(night)
    ask_all(now=LATE)
    assert told("frost_update") == []


def test_the_chance_crossing_the_ratio_is_news(night: FrostNight) -> None:
    # Told -1 C when the limit was far below; now the chance of killing has risen over the ratio.
    FrostNight.objects.update(kill_ratio=0.5, sd_c=1.0)
    colder(night, kill_chance=0.6)
    ask_all(now=LATE)
    assert told("frost_update") == ["Wim"]


def test_the_chance_that_went_with_what_was_told(night: FrostNight) -> None:
    # Half a chance at -2.5 C puts the limit there: 1.5 sd below what was told, one in fifteen.
    night.expected_c, night.sd_c, night.kill_chance, night.told_c = -2.5, 1.0, 0.5, -1.0
    assert chance_when_told(night) == pytest.approx(0.0668, abs=1e-4)
    night.told_c = None
    assert chance_when_told(night) == 0.0


@pytest.mark.parametrize(
    "judged",
    [
        {"stale": True},
        {"kill_chance": 0.049},
        {"state": "cancelled"},
        {"state": "not_needed"},
        {"low_at": LATE},
    ],
)
def test_nobody_is_woken_without_need(night: FrostNight, judged: dict[str, object]) -> None:
    colder(night, **judged)
    action_changes(night)
    ask_all(now=LATE)
    assert told("frost_update") == []


def test_nobody_is_woken_for_what_is_done_already(night: FrostNight) -> None:
    FrostNight.objects.update(kill_ratio=0.5, sd_c=1.0)
    FrostBed.objects.update(mark="done")
    colder(night, kill_chance=0.6)
    ask_all(now=LATE)
    assert told("frost_update") == []


def test_the_last_minute_to_act_is_the_one_before_the_low(night: FrostNight) -> None:
    colder(night)
    action_changes(night)
    ask_all(now=night.low_at)
    assert told("frost_update") == []
    ask_all(now=night.low_at - MINUTE)
    assert told("frost_update") == ["Wim"]


def test_before_dusk_an_update_waits(night: FrostNight) -> None:
    colder(night)
    action_changes(night)
    ask_all(now=SUNSET - MINUTE)
    assert told("frost_update") == []


def test_before_quiet_hours_those_who_come_and_the_coordinator_hear_of_it_too(
    night: FrostNight,
) -> None:
    colder(night)
    action_changes(night)
    ask_all(now=SUNSET + MINUTE)
    assert told("frost_update") == ["Wim", "Ana", "Coordinator"]
    assert told("frost_ask") == ["Ana", "Ben"]
    loud = Message.objects.filter(level="act_now").values_list("person__name", flat=True)
    assert set(loud) == {"Wim"}


def test_who_said_no_is_not_woken(night: FrostNight) -> None:
    ben = night.site.on_call.get(person__name="Ben")
    ben.wakes = True
    ben.save()
    colder(night)
    action_changes(night)
    ask_all(now=LATE + timedelta(hours=3))
    assert told("frost_update") == ["Wim"]


def test_a_frost_first_called_at_night_wakes_only_who_allowed_it(world: World) -> None:
    on_call(world.site, ["Ana"])
    on_call(world.site, ["Wim"], wakes=True)
    a_bed(a_night(world.site, called_at=LATE), world.bed)
    ask_all(now=LATE)
    assert told("frost_update") == ["Wim"]
    assert told("frost_ask") == []


def test_two_wakings_a_month_are_the_most(world: World) -> None:
    on_call(world.site, ["Wim"], wakes=True)
    for days in (0, 1, 2, 31, 33):
        night = a_night(
            world.site,
            night=NIGHT + timedelta(days),
            sunset_at=SUNSET + timedelta(days),
            low_at=clock(5, day=NEXT) + timedelta(days),
        )
        a_bed(night, world.bed)
        world.site.on_call.update(last_day=NIGHT + timedelta(60))
        ask_all(now=LATE + timedelta(days))
    nights = Message.objects.filter(about="frost_update", channel="email")
    days = [message.for_day - NIGHT for message in nights.order_by("for_day")]
    assert [each.days for each in days] == [0, 1, 31, 33]


def call_off(night: FrostNight, state: str = "cancelled") -> None:
    FrostNight.objects.filter(pk=night.pk).update(state=state)


@pytest.mark.parametrize("state", ["cancelled", "not_needed", "quiet"])
def test_everybody_who_was_asked_hears_that_it_is_off(night: FrostNight, state: str) -> None:
    call_off(night, state)
    ask_all(now=BEGIN + MINUTE)
    ask_all(now=BEGIN + 2 * MINUTE)
    assert told("frost_cancel") == ["Ana", "Ben"]
    assert levels("frost_cancel") == {"due"}
    states = dict(Ask.objects.values_list("person__name", "state"))
    assert states == {"Ana": "called_off", "Ben": "declined"}
    night.refresh_from_db()
    assert (night.ask_from, night.told_c) == (None, None)


def test_a_coordinator_with_the_list_hears_of_it_too(world: World) -> None:
    night = a_night(world.site)
    ask_all(now=BEGIN)
    call_off(night)
    ask_all(now=BEGIN + MINUTE)
    assert told("frost_cancel") == ["Coordinator"]


def test_a_volunteer_hears_of_it_too(world: World) -> None:
    night = a_night(world.site)
    volunteer(world.member, night, clock(8))
    call_off(night)
    ask_all(now=clock(9))
    assert told("frost_cancel") == ["Member"]


def test_at_night_nobody_is_woken_to_hear_that_it_is_off(night: FrostNight) -> None:
    call_off(night)
    ask_all(now=LATE)
    assert told("frost_cancel") == []
    assert not Message.objects.filter(about="frost_cancel").exists()


def test_a_low_after_sunrise_sends_no_cancellation_in_the_morning(night: FrostNight) -> None:
    FrostNight.objects.update(low_at=clock(8, 15, NEXT))
    call_off(night)
    ask_all(now=LATE)
    ask_all(now=clock(7, 0, NEXT))
    assert told("frost_cancel") == []
