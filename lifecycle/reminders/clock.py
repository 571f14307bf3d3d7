"""Garden hours: when a message may go out, on the site's own wall clock."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

MORNING = time(7, 0)
QUIET_FROM = time(21, 0)


def wall_time(day: date, hour: time, zone: str) -> datetime:
    """Return the instant at which ``zone``'s wall clock shows ``hour`` on ``day``, in UTC.

    An hour that the clocks skip is the first instant after the gap.
    """
    local = datetime.combine(day, hour, ZoneInfo(zone))
    return local.astimezone(UTC).astimezone(ZoneInfo(zone)).astimezone(UTC)


def next_open_hour(now: datetime, zone: str) -> datetime:
    """Return ``now``, or the next morning when it is quiet (21:00 to 07:00) at the site."""
    local = now.astimezone(ZoneInfo(zone))
    if local.time() < MORNING:
        return wall_time(local.date(), MORNING, zone)
    if local.time() >= QUIET_FROM:
        return wall_time(local.date() + timedelta(days=1), MORNING, zone)
    return now


def is_quiet(now: datetime, zone: str) -> bool:
    """Return whether it is quiet (21:00 to 07:00) at the site."""
    return next_open_hour(now, zone) != now
