"""The same rules on other clocks: both DST days, the south, two zones, several sites at once."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from lifecycle.models import Ask, FrostNight, Message
from lifecycle.records.nights.asks import answer
from lifecycle.reminders.nights.ask_times import LONG_STEP, SHORT_STEP, times_of
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.factories import MembershipFactory, PlaceFactory, SiteFactory
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    a_bed,
    a_night,
    a_turn,
    asked,
    clock,
    levels,
    on_call,
    told,
)

pytestmark = pytest.mark.django_db


def local(zone: str, day: date, hour: int, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZoneInfo(zone)).astimezone(
        UTC
    )


def night_at(world: World, zone: str, day: date, **more: Any) -> FrostNight:
    """A night at a site in this zone, with sunset at 18:00 on its clock."""
    site = SiteFactory(
        garden=world.garden,
        time_zone=zone,
        latitude=-37.0 if zone.startswith("Pacific") else 41.0,
    )
    given = {
        "night": day,
        "sunset_at": local(zone, day, 18),
        "low_at": local(zone, day + timedelta(1), 5),
        **more,
    }
    night = a_night(site, **given)
    a_bed(night, PlaceFactory(site=site))
    return night


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("Europe/Madrid", date(2026, 10, 24)),
        ("Europe/Madrid", date(2026, 10, 25)),
        ("Europe/Madrid", date(2027, 3, 27)),
        ("Europe/Madrid", date(2027, 3, 28)),
        ("Pacific/Auckland", date(2026, 4, 4)),
        ("Pacific/Auckland", date(2026, 7, 1)),
        ("Pacific/Auckland", date(2026, 9, 26)),
        ("Pacific/Auckland", date(2026, 9, 27)),
    ],
)
def test_hours_are_those_of_the_clock_on_the_wall(world: World, zone: str, day: date) -> None:
    times = times_of(night_at(world, zone, day))
    next_day, before = day + timedelta(1), day - timedelta(1)
    assert times.begin == local(zone, day, 13, 30)
    assert times.last_look == local(zone, day, 17)
    assert times.quiet_from == local(zone, day, 21)
    assert times.plan_from == local(zone, before, 16)
    assert times.plan_until == local(zone, before, 21)
    assert times.uncover_from == local(zone, next_day, 7, 30)
    assert times.uncover_by == local(zone, next_day, 9, 30)
    assert times.midday_after == local(zone, next_day, 12)


@pytest.mark.parametrize(
    ("minutes", "step"), [(240, LONG_STEP), (239, SHORT_STEP), (90, SHORT_STEP), (89, None)]
)
def test_steps_by_what_is_left_of_the_day(world: World, minutes: int, step: object) -> None:
    times = times_of(night_at(world, "UTC", NIGHT))
    assert times.step_from(times.dusk - timedelta(minutes=minutes)) == step


def test_a_late_sunset_ends_at_quiet_hours_and_an_early_one_begins_at_seven(
    world: World,
) -> None:
    late = times_of(night_at(world, "UTC", NIGHT, sunset_at=clock(22, 30)))
    assert (late.dusk, late.begin) == (clock(21), clock(16, 30))
    early = times_of(night_at(world, "UTC", NIGHT, sunset_at=clock(11)))
    assert (early.dusk, early.begin) == (clock(11), clock(7))


def test_without_a_sunset_or_an_hour_of_the_low_the_clock_serves(world: World) -> None:
    times = times_of(night_at(world, "UTC", NIGHT, sunset_at=None, low_at=None))
    assert (times.dusk, times.low) == (clock(18), clock(6, day=NIGHT + timedelta(1)))
    odd = times_of(night_at(world, "UTC", NIGHT, low_at=clock(17)))
    assert odd.low == odd.dusk


def test_a_southern_winter_night_is_asked_for_on_its_own_day(world: World) -> None:
    day = date(2026, 7, 1)
    night = night_at(world, "Pacific/Auckland", day)
    on_call(night.site, ["Ana", "Ben"], first_day=day, last_day=day)
    ask_all(now=local("Pacific/Auckland", day, 13, 29))
    assert asked(night) == []
    ask_all(now=local("Pacific/Auckland", day, 13, 30))
    assert asked(night) == ["Ana", "Ben"]


@pytest.mark.parametrize(("minutes", "told_yet"), [(-1, False), (0, True)])
def test_on_the_morning_of_the_clock_change_uncover_comes_by_the_new_clock(
    world: World, minutes: int, told_yet: bool
) -> None:
    night = night_at(world, "Europe/Madrid", date(2026, 10, 24))
    night.beds.update(mark="done", marked_by=world.member.person)
    # 09:30 in winter time is 08:30 UTC.
    ask_all(now=datetime(2026, 10, 25, 8, 30, tzinfo=UTC) + minutes * MINUTE)
    assert bool(told("frost_uncover")) is told_yet


# --- several sites ---------------------------------------------------------------------------


@pytest.fixture
def two_nights(world: World) -> list[FrostNight]:
    """Two sites of the garden with the same frost; Ana and Ben are on call at both."""
    other = SiteFactory(garden=world.garden)
    nights = [a_night(site) for site in (world.site, other)]
    for name in ("Ana", "Ben"):
        member = MembershipFactory(garden=world.garden, person__name=name)
        for site in (world.site, other):
            a_turn(site, member.person)
    return nights


def test_who_was_asked_at_one_site_is_not_asked_at_the_other(
    two_nights: list[FrostNight],
) -> None:
    ask_all(now=BEGIN)
    assert asked(two_nights[0]) == ["Ana", "Ben"]
    assert asked(two_nights[1]) == []
    # Nobody is left to be asked there, so the coordinator hears of it at once.
    assert told("frost_ladder_end") == ["Coordinator"]


def test_those_on_call_only_there_are_asked_there(two_nights: list[FrostNight]) -> None:
    on_call(two_nights[1].site, ["Cleo"], first=9)
    ask_all(now=BEGIN)
    assert asked(two_nights[1]) == ["Cleo"]


def test_a_second_list_on_one_day_does_not_interrupt(world: World) -> None:
    for site in (world.site, SiteFactory(garden=world.garden)):
        a_night(site)
    ask_all(now=BEGIN)
    mails = Message.objects.filter(about="frost_ladder_end", channel="email").order_by("pk")
    assert list(mails.values_list("level", flat=True)) == ["act_today", "due"]


def test_a_coordinator_on_call_is_interrupted_once(world: World) -> None:
    a_turn(world.site, world.coordinator.person)
    a_night(world.site)
    ask_all(now=BEGIN)
    ask_all(now=BEGIN + 90 * MINUTE)
    assert levels("frost_ask") == {"act_today"}
    assert levels("frost_ladder_end") == {"due"}


def test_sites_in_two_zones_keep_their_own_hours(world: World) -> None:
    near, far = (night_at(world, zone, NIGHT) for zone in ("Europe/Madrid", "America/Chicago"))
    for night, name in ((near, "Ana"), (far, "Bob")):
        on_call(night.site, [name])
    ask_all(now=local("Europe/Madrid", NIGHT, 13, 30))
    assert (asked(near), asked(far)) == (["Ana"], [])
    ask_all(now=local("America/Chicago", NIGHT, 13, 30))
    assert (asked(near), asked(far)) == (["Ana"], ["Bob"])


def test_a_member_of_both_zones_is_asked_once_in_a_day(world: World) -> None:
    nights = [night_at(world, zone, NIGHT) for zone in ("Europe/Madrid", "America/Chicago")]
    member = MembershipFactory(garden=world.garden, person__name="Ana")
    for night in nights:
        a_turn(night.site, member.person)
    ask_all(now=local("Europe/Madrid", NIGHT, 13, 30))
    ask_all(now=local("America/Chicago", NIGHT, 13, 30))
    assert [asked(night) for night in nights] == [["Ana"], []]


def test_a_site_without_people_of_its_own_garden_asks_nobody_elsewhere(world: World) -> None:
    """A turn of somebody who has left, or may only read, counts for nothing."""
    a_turn(world.site, world.outsider)
    a_turn(world.site, world.committee.person)
    night = a_night(world.site)
    ask_all(now=BEGIN)
    assert asked(night) == []


def test_next_day_everybody_may_be_asked_again(world: World) -> None:
    on_call(world.site, ["Ana"])
    tomorrow = NIGHT + timedelta(1)
    first = a_night(world.site)
    second = a_night(world.site, night=tomorrow, sunset_at=clock(18, 4, tomorrow), low_at=None)
    ask_all(now=BEGIN)
    answer(Ask.objects.get(), False, BEGIN)
    ask_all(now=clock(14, 0, tomorrow))
    assert asked(first) == asked(second) == ["Ana"]
