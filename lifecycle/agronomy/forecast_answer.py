"""The JSON of a forecast service taken apart, or one sentence about what is wrong in it."""

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any, NoReturn, TypeVar

from lifecycle.agronomy.forecast_nights import COLDEST_C, STRONGEST_M_S, WARMEST_C

Part = TypeVar("Part")

LARGEST = 2 * 1024 * 1024
"""Bytes of an answer at most."""

FIRST_YEAR, LAST_YEAR = 2000, 2200

_NAMES: Mapping[type, str] = {dict: "an object", list: "a list", str: "a text"}
_SCALES: Mapping[str, tuple[float, float]] = {
    # name in lower case -> (times, less before that), to C or m/s
    "degc": (1, 0),
    "°c": (1, 0),
    "degf": (1 / 1.8, 32),
    "°f": (1 / 1.8, 32),
    "m_s-1": (1, 0),
    "m/s": (1, 0),
    "km_h-1": (1 / 3.6, 0),
    "km/h": (1 / 3.6, 0),
    "mph": (0.44704, 0),
    "mp/h": (0.44704, 0),
    "kn": (1852 / 3600, 0),
    "percent": (1, 0),
    "%": (1, 0),
}
TEMPERATURES = ("degc", "°c", "degf", "°f")
SPEEDS = ("m_s-1", "m/s", "km_h-1", "km/h", "mph", "mp/h", "kn")
SHARES = ("percent", "%")
Bounds = tuple[float, float]
_BOUNDS: Mapping[tuple[str, ...], Bounds] = {
    TEMPERATURES: (COLDEST_C, WARMEST_C),
    SPEEDS: (0.0, STRONGEST_M_S),
    SHARES: (0.0, 100.0),
}


def parsed(data: bytes) -> dict[str, Any]:
    """The object that the bytes hold; ValueError for anything else, or over 2 MB."""
    if len(data) > LARGEST:
        raise ValueError("The answer is larger than 2 MB; a forecast is not.")
    try:
        found = json.loads(data, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise ValueError("The answer is not JSON, or was cut off in the middle.") from None
    if not isinstance(found, dict):
        raise ValueError("The answer is JSON, but not a forecast: it is no object.")
    return found


def _no_number(text: str) -> NoReturn:
    raise ValueError(text)


def part(whole: Mapping[str, Any], name: str, kind: type[Part], where: str = "") -> Part:
    """The part of this name; ValueError when it is missing or of another kind."""
    found = whole.get(name)
    if not isinstance(found, kind):
        raise ValueError(f"The answer's “{where}{name}” is not {_NAMES[kind]}.")
    return found


def in_si(what: str, value: object, unit: str, units: tuple[str, ...]) -> float | None:
    """A number in C, m/s or percent; None for null.

    `units` is TEMPERATURES, SPEEDS or SHARES. ValueError for another unit, for what is no
    number, and for one that no air has.
    """
    name = unit.rpartition(":")[2].lower()
    if name not in units:
        raise ValueError(f"The answer's “{what}” is in “{unit[:20]}”, which is not known here.")
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"The answer's “{what}” holds something that is not a number.")
    times, less = _SCALES[name]
    low, high = _BOUNDS[units]
    # Compared before anything is worked out: a whole number may be too long for a float.
    if not low / times + less <= value <= high / times + less:
        raise ValueError(f"The answer's “{what}” holds a value that cannot be.")
    return (float(value) - less) * times


def instant(what: str, text: object, offset: timedelta | None = None) -> datetime:
    """An instant in UTC of ISO text; without an offset of its own it is `offset` from UTC.

    ValueError for anything else, and for a year before 2000 or after 2199.
    """
    moment = _moment(text)
    if moment is None or not FIRST_YEAR <= moment.year < LAST_YEAR:
        raise ValueError(f"The answer's “{what}” holds a time that was not understood.")
    if moment.tzinfo is not None:
        return moment.astimezone(UTC)
    if offset is None:
        raise ValueError(f"The answer's “{what}” holds a time without its zone.")
    return (moment - offset).replace(tzinfo=UTC)


def _moment(text: object) -> datetime | None:
    if not isinstance(text, str):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def calendar_day(what: str, text: object) -> date:
    """A date of ISO text; ValueError for anything else, and for a year no forecast is of."""
    try:
        day = date.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        day = None
    if day is None or not FIRST_YEAR <= day.year < LAST_YEAR:
        raise ValueError(f"The answer's “{what}” holds a day that was not understood.")
    return day
