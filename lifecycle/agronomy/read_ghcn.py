"""GHCN-Daily files: fixed-width .dly and the long CSV with one element a line.

Columns: NOAA NCEI, GHCN-Daily readme.txt, section III (.dly) and readme-by_station.txt. Both
hold tenths of degrees C and tenths of mm; a value whose quality flag is set failed a check.
"""

import csv
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.raw_days import (
    RawDays,
    only_station,
    parsed_dates,
    parsed_numbers,
    shown,
)

QUALITY_FLAG = "marked bad by a quality flag"
NO_SUCH_DAY = "on a day the month does not have"
ELEMENTS = ("TMIN", "TMAX", "PRCP")

_DLY = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}[0-9]{6}[A-Z]{2}[A-Z0-9]{2}[ 0-9-]{5}")
_LONG = re.compile(r'"?[A-Z]{2}[A-Z0-9_-]{9}"?,"?[0-9]{8}"?,"?[A-Z]{2}[A-Z0-9]{2}"?,')
_LONG_NAMES = ["ID", "DATE", "ELEMENT", "VALUE", "MFLAG", "QFLAG", "SFLAG", "OBSTIME"]
_LONG_COLUMNS = {"DATA_VALUE": "VALUE", "Q_FLAG": "QFLAG", "QFLAG1": "QFLAG"}
_DLY_WIDTH, _FIRST_VALUE, _STEP, _DAYS = 269, 21, 8, 31
_MISSING = -9999


def is_dly(line: str) -> bool:
    """Whether a file's first line is one of a .dly file."""
    return _DLY.match(line) is not None


def is_long_csv(line: str) -> bool:
    """Whether a file's first line belongs to a long CSV, with or without its header."""
    if _LONG.match(line) is not None:
        return True
    names = _long_header(line)
    return {"ID", "DATE", "ELEMENT"} <= set(names)


def _long_header(line: str) -> list[str]:
    names = [name.strip().strip('"').upper() for name in line.split(",")]
    return [_LONG_COLUMNS.get(name, name) for name in names]


def read_dly(lines: Sequence[str]) -> RawDays:
    """Days of a .dly file; RecordError names the first line that is not one."""
    kept, numbers = _dly_lines(lines)
    station = only_station([line[:11] for line in kept], numbers)
    block = np.array(kept, dtype=f"S{_DLY_WIDTH}").view("S1").reshape(len(kept), _DLY_WIDTH)
    values, flags = _dly_values(block, numbers)
    months = parsed_dates([line[11:17] + "01" for line in kept], numbers)
    dates = months[:, None] + np.arange(_DAYS)
    exists = dates.astype("datetime64[M]") == months.astype("datetime64[M]")[:, None]
    rows = np.broadcast_to(np.array(numbers)[:, None], dates.shape)
    element = np.broadcast_to(np.array([line[17:21] for line in kept])[:, None], dates.shape)
    present = ~np.isnan(values)
    rejected: dict[str, int] = {}
    temperature = element != "PRCP"
    _count(rejected, NO_SUCH_DAY, present & ~exists & temperature)
    _count(rejected, QUALITY_FLAG, present & exists & flags & temperature)
    good = present & exists & ~flags
    # A day whose only value was bad still stands in the record, as missing.
    seen = present & exists
    value = np.where(good, values, np.nan)
    return _by_element(
        "GHCN-Daily .dly", station, rows[seen], dates[seen], element[seen], value[seen], rejected
    )


def _dly_lines(lines: Sequence[str]) -> tuple[list[str], list[int]]:
    """The lines of the elements wanted, at full width, and their numbers."""
    kept: list[str] = []
    numbers: list[int] = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        if not is_dly(line) or not line.isascii():
            raise RecordError(
                f"Line {number}, {shown(line)}, is not a line of a .dly file (station, year, "
                "month, element, 31 days); give the file as it was fetched."
            )
        if line[17:21] in ELEMENTS:
            kept.append(line.ljust(_DLY_WIDTH)[:_DLY_WIDTH])
            numbers.append(number)
    if not kept:
        raise RecordError("The .dly file has no TMIN or TMAX lines; give a station that has.")
    return kept, numbers


def _count(rejected: dict[str, int], reason: str, where: NDArray[np.bool_]) -> None:
    if where.any():
        rejected[reason] = int(np.count_nonzero(where))


def _dly_values(
    block: NDArray[np.bytes_], numbers: Sequence[int]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    days = block[:, _FIRST_VALUE : _FIRST_VALUE + _STEP * _DAYS].reshape(-1, _DAYS, _STEP)
    texts = np.ascontiguousarray(days[:, :, :5]).view("S5")[:, :, 0]
    flags = (days[:, :, 6] != b" ") & (days[:, :, 6] != b"")
    try:
        values = np.where(np.char.strip(texts) == b"", b"-9999", texts).astype(np.int64)
    except ValueError:
        flat = [text.decode("ascii") for text in texts.ravel()]
        return (
            parsed_numbers(flat, np.repeat(numbers, _DAYS).tolist(), "a day's value").reshape(
                texts.shape
            ),
            flags,
        )
    return np.where(values == _MISSING, np.nan, values.astype(np.float64)), flags


def read_long_csv(lines: Sequence[str]) -> RawDays:
    """Days of a long CSV `ID,YYYYMMDD,ELEMENT,VALUE,MFLAG,QFLAG,SFLAG,OBSTIME`.

    RecordError names the first line that does not have these columns.
    """
    start = next(at for at, line in enumerate(lines) if line.strip())
    names = _LONG_NAMES
    if _LONG.match(lines[start]) is None:
        names = _long_header(lines[start])
        start += 1
    if not {"VALUE", "QFLAG"} <= set(names):
        raise RecordError(
            "The header lacks the value or its quality flag; give the columns "
            "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME."
        )
    rows = _long_rows(lines, start, names)
    if not rows:
        raise RecordError("The file has no TMIN or TMAX lines; give a station that has.")
    numbers, ids, days, elements, texts, flag_texts = map(list, zip(*rows, strict=True))
    values = parsed_numbers(texts, numbers, "a value")
    flags = np.array([bool(flag.strip()) for flag in flag_texts])
    element = np.array(elements)
    rejected: dict[str, int] = {}
    _count(rejected, QUALITY_FLAG, flags & ~np.isnan(values) & (element != "PRCP"))
    return _by_element(
        "GHCN-Daily CSV",
        only_station(ids, numbers),
        np.array(numbers),
        parsed_dates(days, numbers),
        element,
        np.where(flags, np.nan, values),
        rejected,
    )


def _long_rows(
    lines: Sequence[str], start: int, names: Sequence[str]
) -> list[tuple[int, str, str, str, str, str]]:
    """Line number, station, date, element, value and quality flag of the lines wanted."""
    station, day, element, value, flag = (
        names.index(name) for name in ("ID", "DATE", "ELEMENT", "VALUE", "QFLAG")
    )
    needed = max(station, day, element, value, flag) + 1
    rows = []
    reader = csv.reader(lines[start:])
    try:
        for row in reader:
            if len(row) < needed:
                if row:
                    raise csv.Error(f"{len(row)} columns where {needed} are needed")
            elif row[element] in ELEMENTS:
                number = start + reader.line_num
                rows.append((number, row[station], row[day], row[element], row[value], row[flag]))
    except csv.Error as error:
        raise RecordError(
            f"Line {start + reader.line_num} is not a line of this CSV ({error}); give "
            f"{','.join(_LONG_NAMES)}."
        ) from None
    return rows


def _by_element(
    kind: str,
    station: str | None,
    lines: NDArray[np.int64],
    dates: NDArray[np.datetime64],
    element: NDArray[np.str_],
    value: NDArray[np.float64],
    rejected: dict[str, int],
) -> RawDays:
    columns = {name: np.where(element == name, value, np.nan) for name in ELEMENTS}
    return RawDays(
        format=kind,
        station=station,
        latitude=None,
        units="tenths",
        lines=lines,
        dates=dates,
        tmin=columns["TMIN"],
        tmax=columns["TMAX"],
        precip=columns["PRCP"] / 10.0 if (element == "PRCP").any() else None,
        rejected=rejected,
        units_fixed=True,
    )
