"""Before the day: a possible frost is noted, a gap in the rota is named, the plan is told."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import FrostNight, Membership, Message, OnCallTurn
from lifecycle.records.nights.asks import volunteer
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.factories import a_plant
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    SUNSET,
    a_bed,
    a_night,
    clock,
    levels,
    on_call,
    told,
)

pytestmark = pytest.mark.django_db
TWO_DAYS_ON = NIGHT + timedelta(2)


def possible(world: World, days: int = 2, **more: object) -> FrostNight:
    night = a_night(
        world.site,
        night=NIGHT + timedelta(days),
        state="possible",
        sunset_at=SUNSET + timedelta(days),
        low_at=clock(5, day=NIGHT + timedelta(days + 1)),
        **more,
    )
    a_bed(night, world.bed)
    return night


def test_holders_and_coordinators_read_of_it_on_the_page(world: World) -> None:
    possible(world)
    ask_all(now=clock(12))
    ask_all(now=clock(13))
    assert told("frost_possible", "inbox") == ["Member"]
    assert told("frost_gap", "inbox") == ["Coordinator"]
    assert set(Message.objects.values_list("channel", "level")) == {("inbox", "note")}


@pytest.mark.parametrize(("days", "noted"), [(0, False), (1, True), (3, True), (4, False)])
def test_from_three_days_before(world: World, days: int, noted: bool) -> None:
    possible(world, days)
    ask_all(now=clock(12))
    assert bool(told("frost_possible", "inbox")) is noted
    assert bool(told("frost_gap", "inbox")) is noted


def test_a_cold_spell_is_noted_once_in_three_days(world: World) -> None:
    for days in (1, 2, 3, 4, 6):
        possible(world, days)
    for days in (0, 1, 2):
        ask_all(now=clock(12) + timedelta(days))
    assert told("frost_possible", "inbox") == ["Member"]
    ask_all(now=clock(12) + timedelta(3))
    assert told("frost_possible", "inbox") == ["Member", "Member"]


def test_nothing_to_do_is_nothing_to_note(world: World) -> None:
    night = possible(world)
    night.beds.update(action="leave")
    ask_all(now=clock(12))
    assert told("frost_possible", "inbox") == []


def test_holders_elsewhere_and_who_left_are_not_told(world: World) -> None:
    a_plant(world.coordinator, world.bench)
    possible(world)
    Membership.objects.filter(pk=world.member.pk).update(left_on=NIGHT)
    ask_all(now=clock(12))
    assert told("frost_possible", "inbox") == []


@pytest.mark.parametrize(("people", "gap"), [(1, True), (2, False)])
def test_a_gap_is_fewer_on_call_than_needed(world: World, people: int, gap: bool) -> None:
    possible(world)
    on_call(world.site, ["Ana", "Ben"][:people])
    ask_all(now=clock(12))
    assert bool(told("frost_gap", "inbox")) is gap


def test_the_plan_comes_at_four_the_day_before(world: World) -> None:
    on_call(world.site, ["Ana", "Ben"])
    possible(world)
    day_before = NIGHT + timedelta(1)
    ask_all(now=clock(15, 59, day_before))
    assert told("frost_plan") == []
    ask_all(now=clock(16, 0, day_before))
    ask_all(now=clock(18, 0, day_before))
    assert told("frost_plan") == ["Ana", "Ben", "Coordinator"]
    assert levels("frost_plan") == {"due"}


def test_in_the_night_the_plan_is_not_told_any_more(world: World) -> None:
    possible(world)
    ask_all(now=clock(21, 0, NIGHT + timedelta(1)))
    assert told("frost_plan") == []


def test_a_coordinator_on_call_gets_one_plan(world: World) -> None:
    OnCallTurn.objects.create(
        garden=world.garden,
        site=world.site,
        person=world.coordinator.person,
        first_day=NIGHT,
        last_day=TWO_DAYS_ON,
    )
    possible(world)
    ask_all(now=clock(16, 0, NIGHT + timedelta(1)))
    assert told("frost_plan") == ["Coordinator"]


def test_quiet_nights_cost_nothing(world: World) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            ask_all(now=clock(12))
        return len(caught)

    for days in range(3):
        a_night(world.site, night=NIGHT + timedelta(days), state="quiet")
    assert queries() == 1


def test_a_possible_night_costs_nothing_once_it_is_noted(world: World) -> None:
    possible(world)
    ask_all(now=clock(12))
    with CaptureQueriesContext(connection) as caught:
        ask_all(now=clock(13))
    assert len(caught) == 2


def test_a_called_night_costs_the_same_for_two_or_ten_people(world: World) -> None:
    on_call(world.site, ["Ana", "Ben"])
    a_bed(a_night(world.site, people_needed=1), world.bed)
    now = SUNSET - timedelta(hours=4)
    ask_all(now=now)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            ask_all(now=now + MINUTE)
        return len(caught)

    few = queries()
    on_call(world.site, [f"Person {n}" for n in range(10)], first=3)
    assert queries() == few == 3


# --- the day itself, with an old forecast ----------------------------------------------------


def test_when_asking_would_begin_the_coordinator_hears_that_the_forecast_is_old(
    world: World,
) -> None:
    on_call(world.site, ["Ana"])
    a_night(world.site, state="possible", stale=True)
    ask_all(now=BEGIN - MINUTE)
    assert told("frost_old_data") == []
    ask_all(now=BEGIN)
    ask_all(now=BEGIN + MINUTE)
    assert told("frost_old_data") == ["Coordinator"]
    assert levels("frost_old_data") == {"due"}
    assert told("frost_ask") == []


@pytest.mark.parametrize(
    "more", [{"stale": False}, {"state": "called"}, {"state": "quiet"}, {"ask_from": BEGIN}]
)
def test_no_word_of_old_data_where_it_leaves_nobody_waiting(
    world: World, more: dict[str, Any]
) -> None:
    a_night(world.site, **{"state": "possible", "stale": True, **more})
    ask_all(now=BEGIN)
    assert told("frost_old_data") == []


def test_no_word_of_old_data_once_somebody_comes_or_at_night(world: World) -> None:
    night = a_night(world.site, state="possible", stale=True)
    ask_all(now=clock(21))
    assert told("frost_old_data") == []
    volunteer(world.member, night, clock(9))
    ask_all(now=BEGIN)
    assert told("frost_old_data") == []
