"""What a forecast tells of the coming nights, whatever service it came from.

A night is named by the date of its evening and runs from 18:00 to 09:00 on the site's own clock:
longer than the dark, because the low may come as late as after sunrise.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise

EVENING, MORNING = time(18), time(9)
#: Hours of a night may lie so far apart at most; over a wider gap its low is not known.
WIDEST_GAP = timedelta(hours=3)

COLDEST_C, WARMEST_C = -95.0, 60.0
STRONGEST_M_S = 120.0


@dataclass(frozen=True, slots=True)
class NightTold:
    """The low of one night in C; None where the forecast says nothing.

    `low_at` is the instant of the low, in UTC. Wind (m/s), cloud (percent) and dew point (C) are
    means over the night.
    """

    night: date
    low_c: float
    low_at: datetime | None = None
    wind_m_s: float | None = None
    cloud_percent: float | None = None
    dew_point_c: float | None = None


@dataclass(frozen=True, slots=True)
class ForecastIssue:
    """The nights, in order, that were told at one instant (UTC)."""

    issued_at: datetime
    nights: tuple[NightTold, ...]


def night_span(night: date, zone: tzinfo) -> tuple[datetime, datetime]:
    """First and last instant of a night, in UTC: 18:00 on its date to 09:00 on the next."""
    evening = datetime.combine(night, EVENING, zone)
    morning = datetime.combine(night + timedelta(1), MORNING, zone)
    return evening.astimezone(UTC), morning.astimezone(UTC)


def night_of(moment: datetime, zone: tzinfo) -> date | None:
    """The night that holds an instant, its ends included; None by day."""
    local = moment.astimezone(zone)
    if local.time() <= MORNING:
        return local.date() - timedelta(1)
    return local.date() if local.time() >= EVENING else None


def covers_night(moments: list[datetime], night: date, zone: tzinfo) -> bool:
    """Whether instants, in order, leave no gap over 3 hours from a night's evening to morning."""
    first, last = night_span(night, zone)
    marks = [first, *moments, last]
    return all(after - before <= WIDEST_GAP for before, after in pairwise(marks))


def by_night(hours: Mapping[datetime, float], zone: tzinfo) -> dict[date, dict[datetime, float]]:
    """Values by night and instant, in order; what falls into the day is left out."""
    found: dict[date, dict[datetime, float]] = {}
    for moment in sorted(hours):
        night = night_of(moment, zone)
        if night is not None:
            found.setdefault(night, {})[moment] = hours[moment]
    return found


def lows_of(hours: Mapping[datetime, float], zone: tzinfo) -> dict[date, tuple[float, datetime]]:
    """The low of each night and the first instant of it, of nights without a gap over 3 hours."""
    found = {}
    for night, values in _whole_nights(hours, zone):
        low_at = min(values, key=lambda moment: values[moment])
        found[night] = (values[low_at], low_at)
    return found


def means_of(hours: Mapping[datetime, float], zone: tzinfo) -> dict[date, float]:
    """The mean of each night, of nights without a gap over 3 hours."""
    return {
        night: sum(values.values()) / len(values) for night, values in _whole_nights(hours, zone)
    }


def _whole_nights(
    hours: Mapping[datetime, float], zone: tzinfo
) -> Iterator[tuple[date, dict[datetime, float]]]:
    for night, values in by_night(hours, zone).items():
        if covers_night(list(values), night, zone):
            yield night, values


def nights_told(
    lows: Mapping[date, tuple[float, datetime | None]],
    wind_m_s: Mapping[date, float],
    cloud_percent: Mapping[date, float],
    dew_point_c: Mapping[date, float],
) -> tuple[NightTold, ...]:
    """Nights with a low, in order, and what else is told of them."""
    return tuple(
        NightTold(
            night,
            low_c,
            low_at,
            wind_m_s.get(night),
            cloud_percent.get(night),
            dew_point_c.get(night),
        )
        for night, (low_c, low_at) in sorted(lows.items())
    )
