"""A forecast dropped as a plain CSV file, one line a night.

Columns, in any order: `issued_at` (ISO, such as 2026-10-14T13:10; on the site's clock unless it
carries an offset), `night` (the date of its evening), `low_c` or `low_f`, and where known
`wind_m_s`, `cloud_percent`, `dew_point_c`. A file may hold several issues.
"""

import csv
import math
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, tzinfo

from lifecycle.agronomy.forecast_nights import (
    COLDEST_C,
    STRONGEST_M_S,
    WARMEST_C,
    ForecastIssue,
    NightTold,
)

LARGEST = 2 * 1024 * 1024
MOST_LINES = 5000
FIRST_YEAR, LAST_YEAR = 2000, 2200
NEEDED = ("issued_at", "night")
LOWS = ("low_c", "low_f")
MORE: Mapping[str, tuple[float, float]] = {
    "wind_m_s": (0.0, STRONGEST_M_S),
    "cloud_percent": (0.0, 100.0),
    "dew_point_c": (COLDEST_C, WARMEST_C),
}
_HEADER = "issued_at,night,low_c"


def read_file(data: bytes, zone: tzinfo) -> tuple[ForecastIssue, ...]:
    """The issues of a forecast file, in order of issue; nights in order in each.

    ValueError with one sentence that names the line: for a header without what is needed, a
    value that was not understood or cannot be, and a night told twice in one issue.
    """
    lines = _lines(data)
    header = [name.strip().lower() for name in lines[0]]
    low_name = _checked(header)
    issues: dict[datetime, dict[date, NightTold]] = {}
    for number, cells in enumerate(lines[1:], 2):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            raise ValueError(
                f"Line {number} has {len(cells)} values and the header {len(header)}; "
                "give one for each column."
            )
        row = {name: cell.strip() for name, cell in zip(header, cells, strict=True)}
        issued_at = _issued_at(row["issued_at"], number, zone)
        told = _told(row, low_name, number)
        nights = issues.setdefault(issued_at, {})
        if told.night in nights:
            raise ValueError(
                f"Line {number} tells the night of {told.night} a second time in the same issue; "
                "give it once."
            )
        nights[told.night] = told
    if not issues:
        raise ValueError("The file has a header and no night; give one line for each night.")
    return tuple(
        ForecastIssue(issued_at, tuple(nights[night] for night in sorted(nights)))
        for issued_at, nights in sorted(issues.items())
    )


def _lines(data: bytes) -> list[list[str]]:
    if len(data) > LARGEST:
        raise ValueError("The file is larger than 2 MB; give the coming nights only.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError("The file is not UTF-8 text; save it as CSV in UTF-8.") from None
    if not text.strip() or "\x00" in text:
        raise ValueError(f"The file is empty or not text; begin it with {_HEADER}.")
    try:
        lines = list(csv.reader(text.lstrip().splitlines()))
    except csv.Error:
        raise ValueError("The file is not CSV; put one value between two commas.") from None
    if len(lines) > MOST_LINES:
        raise ValueError(f"The file has {len(lines)} lines; give {MOST_LINES} at most.")
    return lines


def _checked(header: Sequence[str]) -> str:
    """The name of the column of lows; ValueError for a header that does not do."""
    lows = [name for name in header if name in LOWS]
    missing = [name for name in NEEDED if name not in header]
    if missing or not lows:
        raise ValueError(
            f"Line 1 lacks the column {missing[0] if missing else 'low_c or low_f'}; "
            f"begin the file with {_HEADER}."
        )
    if len(lows) > 1:
        raise ValueError("Line 1 names low_c or low_f more than once; give one of them.")
    for name in header:
        if name not in (*NEEDED, *LOWS, *MORE):
            raise ValueError(f"Line 1 has the column “{name[:20]}”, which is not known here.")
        if header.count(name) > 1:
            raise ValueError(f"Line 1 names the column {name} twice; give it once.")
    return lows[0]


def _told(row: Mapping[str, str], low_name: str, number: int) -> NightTold:
    scale = 1.8 if low_name == "low_f" else 1.0
    zero = 32.0 if low_name == "low_f" else 0.0
    bounds = (COLDEST_C * scale + zero, WARMEST_C * scale + zero)
    low = _number(row, low_name, bounds, number)
    if low is None:
        raise ValueError(f"Line {number} gives no {low_name}; give the low or leave the line out.")
    wind, cloud, dew = (_number(row, name, span, number) for name, span in MORE.items())
    return NightTold(_night(row["night"], number), (low - zero) / scale, None, wind, cloud, dew)


def _number(
    row: Mapping[str, str], name: str, bounds: tuple[float, float], number: int
) -> float | None:
    text = row.get(name, "")
    if not text:
        return None
    low, high = bounds
    try:
        value = float(text.replace("−", "-"))
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise ValueError(
            f"Line {number}: {name} is “{text[:20]}”; give a number from {low:g} to {high:g}."
        )
    return value


def _issued_at(text: str, number: int, zone: tzinfo) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or not FIRST_YEAR <= moment.year < LAST_YEAR:
        raise ValueError(
            f"Line {number}: issued_at is “{text[:30]}”; give a time such as 2026-10-14T13:10."
        )
    aware = moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)
    return aware.astimezone(UTC)


def _night(text: str, number: int) -> date:
    try:
        night = date.fromisoformat(text)
    except ValueError:
        night = None
    if night is None or not FIRST_YEAR <= night.year < LAST_YEAR:
        raise ValueError(
            f"Line {number}: night is “{text[:30]}”; give the date of its evening, "
            "such as 2026-10-14."
        )
    return night
