"""A national weather service's gridpoint forecast: JSON of layers, each of values over intervals.

The shape is that of api.weather.gov: `properties.minTemperature` is
`{"uom": "wmoUnit:degC", "values": [{"validTime": "start/PT13H", "value": 1.1}, ...]}`, with null
where there is nothing; `properties.updateTime` is when it was issued.
"""

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from lifecycle.agronomy.forecast_answer import (
    SHARES,
    SPEEDS,
    TEMPERATURES,
    in_si,
    instant,
    parsed,
    part,
)
from lifecycle.agronomy.forecast_nights import (
    ForecastIssue,
    lows_of,
    means_of,
    night_of,
    night_span,
    nights_told,
)

MOST_VALUES = 2000
LONGEST = timedelta(days=10)
#: An interval speaks for a night of which it covers at least so much.
LEAST_SHARED = timedelta(hours=6)
HOUR = timedelta(hours=1)

_DURATION = re.compile(r"P(?:(\d{1,3})D)?(?:T(?:(\d{1,3})H)?(?:(\d{1,4})M)?)?")
_ADDRESS = re.compile(r"[!-~]{1,300}")
Span = tuple[datetime, datetime, float]


def read_address(data: bytes) -> str:
    """The address of a place's gridpoint forecast, of the answer about a point.

    ValueError when the answer has another shape.
    """
    layers = part(parsed(data), "properties", dict)
    address = part(layers, "forecastGridData", str, "properties.")
    if not _ADDRESS.fullmatch(address):
        raise ValueError("The answer's “properties.forecastGridData” is not an address.")
    return address


def read_gridpoint(data: bytes, zone: tzinfo) -> ForecastIssue:
    """The nights that a gridpoint forecast tells, on the clock of `zone`.

    The low is the service's own minimum where an interval of it covers six hours of the night,
    else the lowest hour. ValueError with one sentence when the answer has another shape, an
    unknown unit or a value that cannot be, or tells no night.
    """
    layers = part(parsed(data), "properties", dict)
    stamp = layers.get("updateTime", layers.get("generatedAt"))
    issued_at = instant("updateTime", stamp)
    hourly = lows_of(_hours(_spans(layers, "temperature", TEMPERATURES)), zone)
    lows: dict[date, tuple[float, datetime | None]] = {**hourly}
    for night, low_c in _minima(_spans(layers, "minTemperature", TEMPERATURES), zone).items():
        lows[night] = (low_c, hourly[night][1] if night in hourly else None)
    if not lows:
        raise ValueError("The answer tells the low of no night.")
    wind, cloud, dew = (
        means_of(_hours(_spans(layers, name, units)), zone)
        for name, units in (
            ("windSpeed", SPEEDS),
            ("skyCover", SHARES),
            ("dewpoint", TEMPERATURES),
        )
    )
    return ForecastIssue(issued_at, nights_told(lows, wind, cloud, dew))


def _spans(layers: Mapping[str, Any], name: str, units: tuple[str, ...]) -> list[Span]:
    """Start, end and value in SI of a layer's intervals; nothing where the layer is not there."""
    if layers.get(name) is None:
        return []
    layer = part(layers, name, dict, "properties.")
    where = f"properties.{name}."
    values = part(layer, "values", list, where)
    if not values:
        return []
    if len(values) > MOST_VALUES:
        raise ValueError(f"The answer's “{where}values” is too long for a forecast.")
    unit = part(layer, "uom", str, where)
    found = []
    for each in values:
        if not isinstance(each, dict):
            raise ValueError(f"The answer's “{where}values” holds something that is no interval.")
        start, end = _interval(name, part(each, "validTime", str, f"{where}values."))
        value = in_si(name, each.get("value"), unit, units)
        if value is not None:
            found.append((start, end, value))
    return found


def _interval(name: str, text: str) -> tuple[datetime, datetime]:
    begins, _, lasts = text.partition("/")
    start = instant(name, begins)
    found = _DURATION.fullmatch(lasts)
    days, hours, minutes = (int(number or 0) for number in found.groups()) if found else (0, 0, 0)
    length = timedelta(days=days, hours=hours, minutes=minutes)
    if not timedelta(0) < length <= LONGEST:
        raise ValueError(f"The answer's “{name}” holds an interval that was not understood.")
    return start, start + length


def _hours(spans: list[Span]) -> dict[datetime, float]:
    """A value for the beginning of each hour that an interval holds."""
    found = {}
    for start, end, value in spans:
        moment = start
        while moment < end:
            found[moment] = value
            moment += HOUR
    return found


def _minima(spans: list[Span], zone: tzinfo) -> dict[date, float]:
    """The lowest of the intervals that cover six hours of a night, by night."""
    found: dict[date, float] = {}
    for start, end, value in spans:
        nights = {night_of(start + HOUR * hour, zone) for hour in range(int((end - start) / HOUR))}
        for night in nights - {None}:
            assert night is not None
            evening, morning = night_span(night, zone)
            if min(end, morning) - max(start, evening) >= LEAST_SHARED:
                found[night] = min(value, found.get(night, value))
    return found
