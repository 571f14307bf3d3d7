"""One door for every kind of daily record: bytes in, a clean `DailyRecord` out."""

from typing import get_args

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord, RecordError, Units
from lifecycle.agronomy.mixed_units import drop_other_unit
from lifecycle.agronomy.raw_days import RawDays
from lifecycle.agronomy.read_csv import read_csv
from lifecycle.agronomy.read_ghcn import is_dly, is_long_csv, read_dly, read_long_csv
from lifecycle.agronomy.record_text import text_lines
from lifecycle.agronomy.record_units import (
    IMPOSSIBLE,
    check_units,
    impossible,
    in_celsius,
    inferred_units,
    native_step,
)

CONFLICT = "given twice with different values"
CROSSED = "minimum above the maximum"
OTHER_UNIT = "off the season as if in another unit"
_PRECIP_TO_MM: dict[Units, float] = {"tenths": 0.1, "C": 1.0, "F": 25.4}


MOST_RAIN_MM = 2000.0
"""More than any day has brought (1,825 mm, from memory); beyond it a value is not rain."""


def read_daily_record(
    data: bytes, *, units: Units | None = None, latitude: float | None = None
) -> DailyRecord:
    """Read one station's daily minima and maxima.

    `data` is a file as it lies on disk, gzipped or not: GHCN-Daily .dly or CSV, an NCEI
    daily-summaries CSV, or a CSV `date,tmin,tmax[,precip]` whose header states its units
    (`tmin_c`, `tmin (F)`); `units` states them instead. `latitude` (degrees, south negative)
    overrules the file's. Rows may stand in any order.

    Dropped and counted in `rejected`: flagged values, values outside -95..60 C, both temperatures
    of a day whose minimum is above its maximum, single days that fit their season only in another
    unit, and every value of a day that is given twice with different numbers (nothing tells which
    is right). Exact repeats count as `duplicates`. RecordError, one sentence with the place and
    what to give instead, when the file cannot be used.
    """
    if units is not None and units not in get_args(Units):
        raise RecordError(f"{units!r} is not a unit known here; state C, F or tenths.")
    if latitude is not None and not -90 <= latitude <= 90:
        raise RecordError(f"{latitude:g} is not a latitude; give degrees from -90 to 90.")
    raw = _raw_days(text_lines(data), units)
    sentence = None
    chosen = raw.units
    if chosen is None:
        chosen, sentence = inferred_units(raw)
    check_units(raw, chosen)
    return _cleaned(raw, chosen, sentence, latitude)


def _raw_days(lines: list[str], units: Units | None) -> RawDays:
    head = next(line for line in lines if line.strip())
    if is_dly(head) or is_long_csv(head):
        if units not in (None, "tenths"):
            raise RecordError(
                "A GHCN-Daily file is always in tenths of a degree C; leave the units out."
            )
        return read_dly(lines) if is_dly(head) else read_long_csv(lines)
    return read_csv(lines, units)


def _cleaned(
    raw: RawDays, units: Units, sentence: str | None, latitude: float | None
) -> DailyRecord:
    rejected = dict(raw.rejected)
    step = native_step(np.concatenate((raw.tmin, raw.tmax)), units)
    columns = _possible(raw, units, rejected)
    dates, columns, conflicts, duplicates = _merged(raw.dates, columns)
    _add(rejected, CONFLICT, conflicts)
    tmin, tmax = columns[0], columns[1]
    crossed = tmin > tmax
    _add(rejected, CROSSED, 2 * int(crossed.sum()))
    tmin[crossed] = np.nan
    tmax[crossed] = np.nan
    _add(rejected, OTHER_UNIT, drop_other_unit(dates, tmin, tmax, stated_f=units == "F"))
    if np.all(np.isnan(tmin)):
        raise RecordError(
            "The file holds no usable daily minimum; give a station that reports TMIN."
        )
    span = _measured_span(tmin, tmax)
    return DailyRecord(
        format=raw.format,
        station=raw.station,
        latitude=raw.latitude if latitude is None else latitude,
        dates=dates[span],
        tmin_c=tmin[span],
        tmax_c=tmax[span],
        precip_mm=columns[2][span] if len(columns) > 2 else None,
        native_unit=step.unit,
        precision=step.step,
        rejected=rejected,
        duplicates=duplicates,
        units_inferred=sentence,
    )


def _possible(raw: RawDays, units: Units, rejected: dict[str, int]) -> list[NDArray[np.float64]]:
    """Tmin and Tmax in degrees C without impossible values, and rain in mm where there is any."""
    columns = []
    for written in (raw.tmin, raw.tmax):
        values = in_celsius(written, units)
        bad = impossible(values)
        _add(rejected, IMPOSSIBLE, int(bad.sum()))
        columns.append(np.where(bad, np.nan, values))
    if raw.precip is not None:
        factor = _PRECIP_TO_MM[units] if raw.precip_follows_units else 1.0
        with np.errstate(over="ignore"):
            rain = raw.precip * factor
        columns.append(np.where((rain >= 0) & (rain <= MOST_RAIN_MM), rain, np.nan))
    return columns


def _add(rejected: dict[str, int], reason: str, count: int) -> None:
    if count:
        rejected[reason] = rejected.get(reason, 0) + count


def _measured_span(tmin: NDArray[np.float64], tmax: NDArray[np.float64]) -> slice:
    """From the first to the last day with a temperature: older rain alone is no record of ours."""
    known = np.flatnonzero(~(np.isnan(tmin) & np.isnan(tmax)))
    return slice(int(known[0]), int(known[-1]) + 1)


def _merged(
    dates: NDArray[np.datetime64], columns: list[NDArray[np.float64]]
) -> tuple[NDArray[np.datetime64], list[NDArray[np.float64]], int, int]:
    """One row a date, sorted; also temperatures dropped as conflicting and exact repeats."""
    order = np.argsort(dates, kind="stable")
    unique, begin = np.unique(dates[order], return_index=True)
    merged = []
    conflicts = duplicates = 0
    for index, column in enumerate(columns):
        values = column[order]
        low, high = np.fmin.reduceat(values, begin), np.fmax.reduceat(values, begin)
        count = np.add.reduceat((~np.isnan(values)).astype(np.int64), begin)
        differ = low != high
        differ &= count > 1
        if index < 2:
            conflicts += int(count[differ].sum())
            duplicates += int((count[~differ & (count > 1)] - 1).sum())
        merged.append(np.where(differ, np.nan, low))
    return unique, merged, conflicts, duplicates
