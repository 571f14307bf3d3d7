"""Garden hours on the site's own wall clock, over the days on which clocks change."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from lifecycle.reminders.clock import MORNING, QUIET_FROM, next_open_hour, wall_time

ZONES = ("Europe/Madrid", "America/New_York", "Australia/Sydney")
# The nights of 2026 on which each zone skips an hour and repeats one.
GAPS = {
    "Europe/Madrid": (date(2026, 3, 29), time(2, 30), "2026-03-29T01:30"),
    "America/New_York": (date(2026, 3, 8), time(2, 30), "2026-03-08T07:30"),
    "Australia/Sydney": (date(2026, 10, 4), time(2, 30), "2026-10-03T16:30"),
}
FOLDS = {
    "Europe/Madrid": (date(2026, 10, 25), time(2, 30), "2026-10-25T00:30"),
    "America/New_York": (date(2026, 11, 1), time(1, 30), "2026-11-01T05:30"),
    "Australia/Sydney": (date(2026, 4, 5), time(2, 30), "2026-04-04T15:30"),
}


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize("zone", ZONES)
def test_an_hour_that_is_skipped_comes_after_the_gap(zone: str) -> None:
    day, hour, instant = GAPS[zone]
    found = wall_time(day, hour, zone)
    assert found == utc(instant)
    shown = found.astimezone(ZoneInfo(zone))
    assert (shown.date(), shown.time()) == (day, time(3, 30))


@pytest.mark.parametrize("zone", ZONES)
def test_an_hour_that_is_repeated_is_its_first(zone: str) -> None:
    day, hour, instant = FOLDS[zone]
    assert wall_time(day, hour, zone) == utc(instant)


@pytest.mark.parametrize(
    ("zone", "now", "open_at"),
    [
        # Before seven, during the day, in the evening; Madrid is two hours ahead in summer.
        ("Europe/Madrid", "2026-07-01T03:00", "2026-07-01T05:00"),
        ("Europe/Madrid", "2026-07-01T05:00", "2026-07-01T05:00"),
        ("Europe/Madrid", "2026-07-01T18:59", "2026-07-01T18:59"),
        ("Europe/Madrid", "2026-07-01T19:00", "2026-07-02T05:00"),
        # The evening before clocks go forward, and before they go back.
        ("Europe/Madrid", "2026-03-28T21:00", "2026-03-29T05:00"),
        ("Europe/Madrid", "2026-10-24T20:00", "2026-10-25T06:00"),
        ("America/New_York", "2026-03-08T02:30", "2026-03-08T11:00"),
        ("America/New_York", "2026-11-01T03:00", "2026-11-01T12:00"),
        ("Australia/Sydney", "2026-10-03T12:00", "2026-10-03T20:00"),
        ("Australia/Sydney", "2026-04-04T12:00", "2026-04-04T21:00"),
        # Over New Year.
        ("America/New_York", "2027-01-01T03:30", "2027-01-01T12:00"),
    ],
)
def test_quiet_hours(zone: str, now: str, open_at: str) -> None:
    assert next_open_hour(utc(now), zone) == utc(open_at)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("step", [17, 31])
def test_every_moment_of_the_changing_nights(zone: str, step: int) -> None:
    for day, _, _ in (GAPS[zone], FOLDS[zone]):
        start = datetime.combine(day, time(0), UTC) - timedelta(days=1)
        for minutes in range(0, 2 * 24 * 60, step):
            now = start + timedelta(minutes=minutes)
            found = next_open_hour(now, zone)
            shown = found.astimezone(ZoneInfo(zone)).time()
            assert MORNING <= shown < QUIET_FROM
            assert timedelta(0) <= found - now <= timedelta(hours=11)
            if found != now:
                assert shown == MORNING
