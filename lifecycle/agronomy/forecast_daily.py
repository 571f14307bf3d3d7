"""An open forecast service's answer: JSON of parallel arrays, by the hour and by the day.

The shape is that of api.open-meteo.com: `hourly.time` beside `hourly.temperature_2m` and others,
units under the same names in `hourly_units`, times on a clock that is `utc_offset_seconds` from
UTC; the same for `daily`. null stands for nothing. The answer has no time of issue of its own.
"""

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Any

from lifecycle.agronomy.forecast_answer import (
    SHARES,
    SPEEDS,
    TEMPERATURES,
    calendar_day,
    in_si,
    instant,
    parsed,
    part,
)
from lifecycle.agronomy.forecast_nights import ForecastIssue, lows_of, means_of, nights_told

HOURLY = ("temperature_2m", "wind_speed_10m", "cloud_cover", "dew_point_2m")
DAILY = ("temperature_2m_min",)
MOST_VALUES = 1000
_FARTHEST_S = 14 * 3600


def read_daily(data: bytes, zone: tzinfo, fetched_at: datetime) -> ForecastIssue:
    """The nights that an open forecast tells, on the clock of `zone`, as of `fetched_at`.

    The low is the lowest hour from 18:00 to 09:00 where the hours cover the night. Otherwise it is
    the minimum of the calendar day after its evening, which is nearly always that of its
    morning. ValueError with one sentence when the answer has another shape, an unknown unit or a
    value that cannot be, or tells no night.
    """
    answer = parsed(data)
    offset = _offset(answer)
    temperature, wind, cloud, dew = (
        _hours(answer, name, units, offset)
        for name, units in zip(HOURLY, (TEMPERATURES, SPEEDS, SHARES, TEMPERATURES), strict=True)
    )
    lows: dict[date, tuple[float, datetime | None]] = {**_minima(answer)}
    lows.update(lows_of(temperature, zone))
    if not lows:
        raise ValueError("The answer tells the low of no night.")
    means = (means_of(hours, zone) for hours in (wind, cloud, dew))
    return ForecastIssue(fetched_at.astimezone(UTC), nights_told(lows, *means))


def _offset(answer: Mapping[str, Any]) -> timedelta:
    seconds = answer.get("utc_offset_seconds")
    if isinstance(seconds, bool) or not isinstance(seconds, int) or abs(seconds) > _FARTHEST_S:
        raise ValueError("The answer's “utc_offset_seconds” is not a number of seconds.")
    return timedelta(seconds=seconds)


def _hours(
    answer: Mapping[str, Any], name: str, units: tuple[str, ...], offset: timedelta
) -> dict[datetime, float]:
    return {
        instant("hourly.time", time, offset): value
        for time, value in _pairs(answer, "hourly", name, units)
    }


def _minima(answer: Mapping[str, Any]) -> dict[date, tuple[float, None]]:
    """The minimum of each calendar day as the low of the night that began the evening before."""
    return {
        calendar_day("daily.time", day) - timedelta(1): (value, None)
        for day, value in _pairs(answer, "daily", DAILY[0], TEMPERATURES)
    }


def _pairs(
    answer: Mapping[str, Any], table: str, name: str, units: tuple[str, ...]
) -> list[tuple[object, float]]:
    """Time and value in SI of one array; nothing where the array is not there."""
    if answer.get(table) is None:
        return []
    arrays = part(answer, table, dict)
    if arrays.get(name) is None:
        return []
    values = part(arrays, name, list, f"{table}.")
    times = part(arrays, "time", list, f"{table}.")
    if len(times) != len(values) or len(times) > MOST_VALUES:
        raise ValueError(
            f"The answer's “{table}” has {len(times)} times and {len(values)} values of “{name}”."
        )
    unit = part(part(answer, f"{table}_units", dict), name, str, f"{table}_units.")
    read = (
        (time, in_si(name, value, unit, units)) for time, value in zip(times, values, strict=True)
    )
    return [(time, value) for time, value in read if value is not None]
