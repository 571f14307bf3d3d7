"""What a reader hands on: values as written, with the line each stood on."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import RecordError, Units

_DATE = re.compile(r"([0-9]{4})([-/]?)([0-9]{2})\2([0-9]{2})(?:[T ]00:00(?::00)?)?")
_FIRST_YEAR, _LAST_YEAR = 1700, 2199
_NO_VALUE = frozenset({"", "na", "nan", "n/a", "null", "none", "m", "-", "."})
#: Numbers that stand for "missing" in daily files, outside anything measured.
_MISSING_NUMBERS = (-9999.0, 9999.0, -999.0, 999.0, -999.9, 999.9, -99.9)


@dataclass(slots=True)
class RawDays:
    """Rows of a file in the units they were written in (`units` None: not stated).

    `lines` are 1-based line numbers; one date may stand on several rows, NaN where a row has no
    such value. `precip` is in mm, or with `precip_follows_units` in tenths of mm, mm or inches as
    the temperatures are in tenths, C or F. `whole_numbers_mean_tenths` says that this kind of file
    comes in tenths when nothing speaks against it; `units_fixed` that the format allows no other
    unit. `rejected` counts values a reader dropped.
    """

    format: str
    station: str | None
    latitude: float | None
    units: Units | None
    lines: NDArray[np.int64]
    dates: NDArray[np.datetime64]
    tmin: NDArray[np.float64]
    tmax: NDArray[np.float64]
    precip: NDArray[np.float64] | None
    rejected: dict[str, int] = field(default_factory=dict)
    precip_follows_units: bool = False
    whole_numbers_mean_tenths: bool = False
    units_fixed: bool = False


def shown(text: str) -> str:
    """A piece of the file, short enough for a sentence."""
    return repr(text if len(text) <= 40 else text[:37] + "...")


def parsed_dates(texts: Sequence[str], lines: Sequence[int]) -> NDArray[np.datetime64]:
    """Dates of `YYYY-MM-DD`, `YYYY/MM/DD` or `YYYYMMDD` texts as datetime64[D].

    RecordError names the first line whose date is none of these or does not exist.
    """
    # A long file names each date once for every element: work on the different ones only.
    place: dict[str, int] = {}
    plain: list[str] = []
    for text in dict.fromkeys(texts):
        match = _DATE.fullmatch(text.strip())
        if match is None or not _FIRST_YEAR <= int(match[1]) <= _LAST_YEAR:
            raise _bad_date(text, lines[texts.index(text)])
        place[text] = len(plain)
        plain.append(f"{match[1]}-{match[3]}-{match[4]}")
    try:
        days = np.array(plain, dtype="datetime64[D]")
    except ValueError:
        bad = next(text for text, at in place.items() if not _exists(plain[at]))
        raise _bad_date(bad, lines[texts.index(bad)]) from None
    return days[[place[text] for text in texts]]


def _exists(day: str) -> bool:
    try:
        np.datetime64(day, "D")
    except ValueError:
        return False
    return True


def _bad_date(text: str, line: int) -> RecordError:
    return RecordError(
        f"Line {line} has {shown(text)} where a date should be; write dates as YYYY-MM-DD, "
        "such as 2016-05-09."
    )


def parsed_numbers(texts: Sequence[str], lines: Sequence[int], what: str) -> NDArray[np.float64]:
    """Numbers of texts, NaN for blanks and the usual marks for a missing value.

    RecordError names the first line that holds something else.
    """
    try:
        values = np.array([_number(text) for text in texts], dtype=np.float64)
    except ValueError:
        for text, line in zip(texts, lines, strict=True):
            try:
                _number(text)
            except ValueError:
                raise RecordError(
                    f"Line {line} has {shown(text)} as {what}; write a number with a decimal "
                    "point, or leave it empty when it is missing."
                ) from None
        raise
    values[np.isin(values, _MISSING_NUMBERS)] = np.nan
    return values


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        if text.strip().lower() in _NO_VALUE:
            return float("nan")
        raise
    if value in (float("inf"), float("-inf")) or "_" in text:
        raise ValueError(text)
    return value


def only_station(stations: Sequence[str], lines: Sequence[int]) -> str | None:
    """The one station of all rows; RecordError names the line where a second one begins."""
    first = stations[0].strip()
    if set(stations) != {stations[0]}:
        for name, line in zip(stations, lines, strict=True):
            if name.strip() != first:
                raise RecordError(
                    f"Line {line} is of station {shown(name.strip())}, the lines before of "
                    f"{shown(first)}; give the days of one station only."
                )
    return first or None


def unique_header(names: Sequence[str], line: int) -> None:
    """RecordError when a column name stands twice in the header on `line`."""
    lower = [name.lower() for name in names]
    for name in lower:
        if name and lower.count(name) > 1:
            raise RecordError(
                f"The header on line {line} has the column {shown(name)} twice; "
                "keep the one that counts."
            )
