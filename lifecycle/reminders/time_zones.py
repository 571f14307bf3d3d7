"""A zone's clock changes as a calendar must carry them (RFC 5545, 3.6.5)."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

_STEP = timedelta(days=1)
_Clock = tuple[timedelta, bool, str]


def time_zone(name: str, since: datetime, until: datetime) -> Timezone:
    """Return the VTIMEZONE of a zone with every change between two instants.

    Each change stands with its own date: rules that repeat for ever would be a guess. The
    library's own maker puts the start of summer time an hour late.
    """
    zone = ZoneInfo(name)
    made = Timezone()
    made.add("tzid", name)
    before = _clock(since, zone)
    made.add_component(_observance(since, before, before))
    for instant in _changes(zone, since, until):
        after = _clock(instant, zone)
        made.add_component(_observance(instant, before, after))
        before = after
    return made


def _clock(instant: datetime, zone: ZoneInfo) -> _Clock:
    local = instant.astimezone(zone)
    offset = local.utcoffset()
    assert offset is not None
    return offset, bool(local.dst()), local.tzname() or ""


def _changes(zone: ZoneInfo, since: datetime, until: datetime) -> Iterator[datetime]:
    """Yield the first instants after each change, to the second."""
    left = since
    while left < until:
        right = left + _STEP
        if _clock(left, zone) != _clock(right, zone):
            yield _between(zone, left, right)
        left = right


def _between(zone: ZoneInfo, left: datetime, right: datetime) -> datetime:
    before = _clock(left, zone)
    while right - left > timedelta(seconds=1):
        middle = left + timedelta(seconds=(right - left) // timedelta(seconds=2))
        if _clock(middle, zone) == before:
            left = middle
        else:
            right = middle
    return right


def _observance(
    instant: datetime, before: _Clock, after: _Clock
) -> TimezoneStandard | TimezoneDaylight:
    offset, summer, word = after
    part = TimezoneDaylight() if summer else TimezoneStandard()
    # The wall clock as it stood just before the change.
    part.add("dtstart", (instant.astimezone(UTC) + before[0]).replace(tzinfo=None))
    part.add("tzoffsetfrom", before[0])
    part.add("tzoffsetto", offset)
    part.add("tzname", word)
    return part
