"""The ladder, minute by minute: who is asked when, and when it stops."""

from datetime import datetime, timedelta

import pytest

from lifecycle.models import Ask, FrostNight, Membership, Message, Person
from lifecycle.records.nights.asks import answer, ask_rota, pass_on, volunteer
from lifecycle.reminders.nights import asking
from lifecycle.reminders.nights.ask_ladder import Evening, next_asked
from lifecycle.reminders.nights.asking import ask_all
from lifecycle.reminders.nights.frost_facts import frost_facts
from tests.conftest import World
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    SUNSET,
    a_bed,
    a_night,
    asked,
    clock,
    levels,
    on_call,
    told,
)

pytestmark = pytest.mark.django_db
NAMES = ["Ana", "Ben", "Cleo", "Dan", "Eve"]


@pytest.fixture
def night(world: World) -> FrostNight:
    on_call(world.site, NAMES)
    night = a_night(world.site)
    a_bed(night, world.bed)
    return night


def ask_of(name: str) -> Ask:
    return Ask.objects.get(person__name=name)


def test_two_then_two_then_the_coordinator(night: FrostNight) -> None:
    seen = {}
    now = clock(6)
    while now < clock(21):
        ask_all(now=now)
        for name in [*asked(night), *told("frost_ladder_end")]:
            seen.setdefault(name, now)
        now += MINUTE
    second, third = BEGIN + timedelta(minutes=45), BEGIN + timedelta(minutes=90)
    assert seen == {"Ana": BEGIN, "Ben": BEGIN, "Cleo": second, "Dan": second, "Coordinator": third}
    assert told("frost_ask") == ["Ana", "Ben", "Cleo", "Dan"]
    assert levels("frost_ask") == levels("frost_ladder_end") == {"act_today"}
    assert set(Ask.objects.values_list("state", flat=True)) == {"unanswered"}
    night.refresh_from_db()
    assert (night.ask_from, night.told_c) == (BEGIN, -1.0)


def test_enough_yes_stops_the_ladder(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    for name in ("Ana", "Ben"):
        answer(ask_of(name), True, BEGIN + MINUTE)
    for minutes in (2, 45, 90, 200):
        ask_all(now=BEGIN + minutes * MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    assert told("frost_ladder_end") == []


def test_two_declined_at_once_are_followed_at_once(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    answer(ask_of("Ana"), False, BEGIN + MINUTE)
    ask_all(now=BEGIN + MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    answer(ask_of("Ben"), False, BEGIN + 2 * MINUTE)
    ask_all(now=BEGIN + 2 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]
    for name in ("Cleo", "Dan"):
        answer(ask_of(name), False, BEGIN + 3 * MINUTE)
    ask_all(now=BEGIN + 3 * MINUTE)
    assert told("frost_ladder_end") == ["Coordinator"]


def test_one_yes_of_two_goes_on_after_the_step(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    answer(ask_of("Ana"), True, BEGIN + MINUTE)
    ask_all(now=BEGIN + 44 * MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    ask_all(now=BEGIN + 45 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]


def test_a_yes_taken_back_opens_the_ladder_again(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    for name in ("Ana", "Ben"):
        answer(ask_of(name), True, BEGIN + MINUTE)
    ask_all(now=BEGIN + 2 * MINUTE)
    answer(ask_of("Ana"), False, BEGIN + 3 * MINUTE)
    ask_all(now=BEGIN + 3 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]


def test_a_late_tick_takes_the_next_step_and_leaves_out_none(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    ask_all(now=BEGIN + 100 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]
    assert told("frost_ladder_end") == []
    ask_all(now=BEGIN + 144 * MINUTE)
    assert told("frost_ladder_end") == []
    ask_all(now=BEGIN + 145 * MINUTE)
    assert told("frost_ladder_end") == ["Coordinator"]


def test_a_tick_that_never_came_before_begins_at_the_first_rung(night: FrostNight) -> None:
    ask_all(now=SUNSET - timedelta(hours=2))
    assert asked(night) == ["Ana", "Ben"]
    ask_all(now=SUNSET - timedelta(minutes=101))
    assert asked(night) == ["Ana", "Ben"]
    ask_all(now=SUNSET - timedelta(minutes=100))
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]


@pytest.mark.parametrize(
    ("before_sunset", "second_after"),
    [(240, 45), (239, 20), (90, 20)],
)
def test_steps_are_shorter_when_little_time_is_left(
    night: FrostNight, before_sunset: int, second_after: int
) -> None:
    start = SUNSET - before_sunset * MINUTE
    ask_all(now=start)
    ask_all(now=start + (second_after - 1) * MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    ask_all(now=start + second_after * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]


@pytest.mark.parametrize("minutes", [89, 1, -60])
def test_with_no_time_left_everybody_is_asked_at_once(night: FrostNight, minutes: int) -> None:
    ask_all(now=SUNSET - minutes * MINUTE)
    assert asked(night) == NAMES
    assert told("frost_ladder_end") == ["Coordinator"]
    ask_all(now=SUNSET - minutes * MINUTE + MINUTE)
    assert told("frost_ask") == NAMES


def test_after_quiet_hours_begin_nobody_is_asked(night: FrostNight) -> None:
    ask_all(now=clock(20, 59))
    assert asked(night) == NAMES
    Ask.objects.all().delete()
    FrostNight.objects.update(ask_from=None)
    ask_all(now=clock(21))
    assert asked(night) == []


def test_an_ask_can_never_go_out_in_quiet_hours(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    expiries = Message.objects.values_list("expires_at", flat=True)
    assert set(expiries) == {clock(21)}


def test_nobody_on_call_goes_to_the_coordinator_at_once(world: World) -> None:
    a_bed(a_night(world.site), world.bed)
    ask_all(now=BEGIN - MINUTE)
    assert told("frost_ladder_end") == []
    ask_all(now=BEGIN)
    ask_all(now=BEGIN + MINUTE)
    assert told("frost_ladder_end") == ["Coordinator"]


def test_an_owner_stands_in_where_there_is_no_coordinator(world: World) -> None:
    world.coordinator.delete()
    a_bed(a_night(world.site), world.bed)
    ask_all(now=BEGIN)
    assert told("frost_ladder_end") == ["Owner"]


@pytest.mark.parametrize("state", ["quiet", "possible", "not_needed", "cancelled", "over"])
def test_only_a_called_night_is_asked_for(world: World, state: str) -> None:
    on_call(world.site, NAMES)
    night = a_night(world.site, state=state)
    ask_all(now=BEGIN)
    assert asked(night) == []


def test_the_button_begins_at_once(world: World, night: FrostNight) -> None:
    early = clock(9)
    ask_all(now=early)
    assert asked(night) == []
    ask_rota(world.coordinator, night, early)
    ask_rota(world.coordinator, night, early + MINUTE)
    ask_all(now=early + 2 * MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    ask_all(now=early + 47 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]


def test_the_button_also_asks_for_a_possible_night_that_is_tonight(world: World) -> None:
    on_call(world.site, NAMES)
    night = a_night(world.site, state="possible")
    ask_rota(world.coordinator, night, clock(9))
    ask_all(now=clock(9))
    assert asked(night) == ["Ana", "Ben"]


def test_old_data_lowers_the_level(world: World) -> None:
    on_call(world.site, NAMES)
    a_night(world.site, stale=True)
    for minutes in (0, 45, 90):
        ask_all(now=BEGIN + minutes * MINUTE)
    assert levels("frost_ask") == levels("frost_ladder_end") == {"due"}


def test_who_volunteers_counts(world: World, night: FrostNight) -> None:
    volunteer(world.member, night, clock(8))
    ask_all(now=BEGIN)
    answer(ask_of("Ana"), True, BEGIN)
    ask_all(now=BEGIN + 45 * MINUTE)
    assert asked(night) == ["Ana", "Ben"]


def test_whom_an_ask_is_passed_to_is_told(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    eve = night.site.on_call.get(person__name="Eve").person
    passed = pass_on(ask_of("Ana"), eve, BEGIN + MINUTE)
    ask_all(now=BEGIN + MINUTE)
    assert told("frost_ask") == ["Ana", "Ben", "Eve"]
    assert passed.rung == 1
    assert ask_of("Ana").state == "passed_on"
    ask_all(now=BEGIN + 45 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Eve", "Cleo", "Dan"]


def test_one_broken_night_does_not_silence_the_others(
    world: World, night: FrostNight, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = a_night(world.site, night=night.night - timedelta(1), state="over")

    def fails(found: FrostNight, now: object) -> int:
        if found.pk == broken.pk:
            raise ZeroDivisionError
        return 0

    monkeypatch.setattr(asking, "STEPS", (fails, *asking.STEPS))
    ask_all(now=BEGIN)
    assert asked(night) == ["Ana", "Ben"]


# --- called off, and called again ------------------------------------------------------------


def judged(state: str) -> None:
    FrostNight.objects.update(state=state)


def test_called_again_who_had_not_answered_is_asked_again_after_who_said_yes(
    night: FrostNight,
) -> None:
    ask_all(now=BEGIN)
    ask_all(now=BEGIN + 45 * MINUTE)
    answer(ask_of("Cleo"), True, BEGIN + 46 * MINUTE)
    answer(ask_of("Ana"), False, BEGIN + 46 * MINUTE)
    judged("cancelled")
    ask_all(now=BEGIN + 50 * MINUTE)
    judged("called")
    again = BEGIN + 60 * MINUTE
    ask_all(now=again)
    # Cleo had said yes and is asked first, with the first on call who had not answered.
    anew = Ask.objects.filter(asked_at=again).values_list("person__name", flat=True)
    assert sorted(anew) == ["Ben", "Cleo"]
    assert ask_of("Ana").state == "declined"
    answer(ask_of("Cleo"), True, again + MINUTE)
    answer(ask_of("Ben"), False, again + MINUTE)
    ask_all(now=again + MINUTE)
    assert sorted(
        Ask.objects.filter(asked_at=again + MINUTE).values_list("person__name", flat=True)
    ) == ["Dan", "Eve"]
    assert told("frost_ask").count("Ben") == told("frost_ask").count("Dan") == 2


def test_called_again_who_left_the_rota_unanswered_is_not_asked_again(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    judged("cancelled")
    ask_all(now=BEGIN + MINUTE)
    judged("called")
    night.site.on_call.filter(person__name="Ana").delete()
    ask_all(now=BEGIN + 2 * MINUTE)
    assert ask_of("Ana").state == "called_off"
    assert ask_of("Ben").state == "asked"


def test_the_coordinator_with_the_list_hears_that_it_is_off_though_others_were_asked_since(
    world: World,
) -> None:
    night = a_night(world.site)
    ask_all(now=BEGIN)
    on_call(world.site, NAMES)
    ask_all(now=BEGIN + MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    judged("cancelled")
    ask_all(now=BEGIN + 2 * MINUTE)
    assert sorted(told("frost_cancel")) == ["Ana", "Ben", "Coordinator"]


# --- who still counts ------------------------------------------------------------------------


@pytest.mark.parametrize("how", ["leaves", "deactivated"])
def test_who_leaves_after_a_yes_does_not_count_as_coming(night: FrostNight, how: str) -> None:
    ask_all(now=BEGIN)
    for name in ("Ana", "Ben"):
        answer(ask_of(name), True, BEGIN + MINUTE)
    ask_all(now=BEGIN + 2 * MINUTE)
    assert asked(night) == ["Ana", "Ben"]
    ana = ask_of("Ana").person
    if how == "leaves":
        Membership.objects.filter(person=ana).update(left_on=night.night)
    else:
        Person.objects.filter(pk=ana.pk).update(is_active=False)
    ask_all(now=BEGIN + 3 * MINUTE)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]
    assert frost_facts(night, ask_of("Cleo").person, BEGIN).accepted == 1


# --- the page and the ladder -----------------------------------------------------------------


def test_after_a_late_yes_is_taken_back_page_and_ladder_agree(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    for name in ("Ana", "Ben"):
        answer(ask_of(name), True, BEGIN + MINUTE)
    late = BEGIN + 120 * MINUTE
    answer(ask_of("Ana"), False, late)
    night.refresh_from_db()
    following = next_asked(Evening(night, late), late)
    assert following is not None
    assert (following[0], [each.name for each in following[1]]) == (late, ["Cleo", "Dan"])
    ask_all(now=late)
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]
    assert told("frost_ladder_end") == []


@pytest.mark.parametrize(("minutes", "everybody"), [(45, False), (44, True)])
def test_where_no_other_step_fits_before_dusk_everybody_left_is_asked(
    night: FrostNight, minutes: int, everybody: bool
) -> None:
    ask_all(now=BEGIN)
    for name in ("Ana", "Ben"):
        answer(ask_of(name), True, BEGIN + MINUTE)
    late = SUNSET - minutes * MINUTE
    answer(ask_of("Ana"), False, late)
    ask_all(now=late)
    assert asked(night) == (NAMES if everybody else NAMES[:4])
    assert told("frost_ladder_end") == (["Coordinator"] if everybody else [])


# --- time to answer --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked_at", "low_at", "answer_by"),
    [
        (SUNSET - 60 * MINUTE, None, SUNSET),
        (SUNSET - 5 * MINUTE, None, SUNSET + 15 * MINUTE),
        (SUNSET + 60 * MINUTE, None, SUNSET + 80 * MINUTE),
        (SUNSET + 60 * MINUTE, SUNSET + 70 * MINUTE, SUNSET + 70 * MINUTE),
    ],
)
def test_late_asks_leave_time_to_answer(
    night: FrostNight, asked_at: datetime, low_at: datetime | None, answer_by: datetime
) -> None:
    if low_at is not None:
        FrostNight.objects.update(low_at=low_at)
    ask_all(now=asked_at)
    assert set(Ask.objects.values_list("answer_by", flat=True)) == {answer_by}
