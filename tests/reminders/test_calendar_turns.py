"""Turns on call and weekly work in the calendar over both changes of the clock."""

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lifecycle.models import Membership, OnCallTurn, Site
from lifecycle.reminders.messages.calendar_feed import feed
from tests.conftest import World
from tests.factories import (
    NOON,
    a_task,
)
from tests.reminders.calendars import address_of, read

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def a_turn(who: Membership, site: Site, first: date, last: date) -> OnCallTurn:
    return OnCallTurn.objects.create(
        garden=site.garden, site=site, person=who.person, first_day=first, last_day=last
    )


@pytest.mark.parametrize(
    ("zone", "latitude", "spring", "autumn"),
    [
        ("Europe/Paris", 48.9, date(2026, 3, 29), date(2026, 10, 25)),
        ("America/Denver", 39.7, date(2026, 3, 8), date(2026, 11, 1)),
        ("Australia/Adelaide", -34.9, date(2026, 10, 4), date(2026, 4, 5)),
    ],
)
def test_weekly_turns_over_both_clock_changes(
    world: World, zone: str, latitude: float, spring: date, autumn: date
) -> None:
    """Noon stays noon on the site's clock; the turns of the changes are an hour off in UTC."""
    Site.objects.filter(pk=world.site.pk).update(time_zone=zone, latitude=latitude)
    site = Site.objects.get(pk=world.site.pk)
    local = ZoneInfo(zone)
    for change in (spring, autumn):
        for week in range(-2, 2):
            first = change + (week * 7 - 3) * DAY
            a_turn(world.member, site, first, first + 6 * DAY)
    found = read(address_of(world.member), datetime(2026, 2, 1, tzinfo=UTC))
    assert len(found) == 8
    hours = {}
    for event in found.values():
        starts, ends = event["starts"].astimezone(local), event["ends"].astimezone(local)
        assert (starts.hour, ends.hour) == (12, 12)
        assert (ends.date() - starts.date()).days == 7
        assert event["summary"] == "On call for frost nights, Canal bank"
        assert event["categories"] == ["Northfield", "On call"]
        hours[starts.date()] = (event["ends"] - event["starts"]) / timedelta(hours=1)
    changed = {day: length for day, length in hours.items() if length != 168}
    # A turn that began four days before the change of its week.
    assert changed == {spring - 3 * DAY: 167, autumn - 3 * DAY: 169}


def test_weekly_tasks_over_a_clock_change_stay_on_their_days(world: World) -> None:
    """Whole days have no hour that a change could shift, wherever the reader is."""
    Site.objects.filter(pk=world.site.pk).update(time_zone="Europe/Paris")
    days = [date(2026, 10, 11) + 7 * n * DAY for n in range(5)]
    for number, day in enumerate(days, 1):
        a_task(world.plant, "winter_water", number=number, best=day, latest=day + 3 * DAY)
    text = feed(address_of(world.member), now=NOON).decode()
    assert re.findall(r"DTSTART[^\r]*", text) == [f"DTSTART;VALUE=DATE:{d:%Y%m%d}" for d in days]
    assert re.findall(r"DTEND[^\r]*", text) == [f"DTEND;VALUE=DATE:{d + DAY:%Y%m%d}" for d in days]
    assert "VTIMEZONE" not in text


def test_a_turn_taken_back_is_cancelled(world: World) -> None:
    turn = a_turn(world.member, world.site, date(2026, 10, 20), date(2026, 10, 26))
    address = address_of(world.member)
    [uid] = read(address)
    turn.delete()
    event = read(address)[uid]
    assert (event["status"], event["sequence"]) == ("CANCELLED", 1)
    assert event["starts"] == datetime(2026, 10, 20, 12, tzinfo=UTC)
