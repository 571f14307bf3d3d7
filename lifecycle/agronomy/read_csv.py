"""CSV files with a header and one day a line: NCEI daily summaries and a gardener's own.

NCEI columns: NOAA NCEI, Data Service API documentation (daily-summaries); attributes are
`measurement flag, quality flag, source flag[, time]`.
"""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import RecordError, Units
from lifecycle.agronomy.raw_days import (
    RawDays,
    only_station,
    parsed_dates,
    parsed_numbers,
    shown,
    unique_header,
)
from lifecycle.agronomy.read_ghcn import QUALITY_FLAG
from lifecycle.agronomy.record_text import unknown_format

HOW_TO_STATE_UNITS = "write tmin_c,tmax_c or tmin_f,tmax_f in the header, or state C or F"

_STEMS = {
    "tmin": ("tmin", "temp_min", "min_temp", "mintemp", "t_min", "tn", "min", "minimum", "low"),
    "tmax": ("tmax", "temp_max", "max_temp", "maxtemp", "t_max", "tx", "max", "maximum", "high"),
    "precip": ("precip", "precipitation", "prcp", "rain", "rainfall"),
}
_COLUMN = re.compile(
    r"(?P<stem>[a-z_]+?)(?:(?:[ _]+|[ _]*(?=[(\[°]))[(\[]?[ ]*(?:deg(?:rees?)?[ _]*|°[ _]*)?"
    r"(?P<unit>c|f|celsius|fahrenheit|tenths|mm|in|inch|inches)[ ]*[)\]]?)?"
)
_UNITS: dict[str, Units] = {
    "c": "C",
    "celsius": "C",
    "f": "F",
    "fahrenheit": "F",
    "tenths": "tenths",
}
_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class _Table:
    names: list[str]
    lines: list[int]
    rows: list[list[str]]

    def column(self, name: str) -> list[str]:
        at = self.names.index(name)
        return [row[at] for row in self.rows]

    def numbers(self, name: str, what: str) -> NDArray[np.float64]:
        return parsed_numbers(self.column(name), self.lines, what)

    def rain(self, name: str) -> NDArray[np.float64]:
        # Observers write T for a trace too small to measure.
        texts = ["0" if text.strip() in ("T", "t") else text for text in self.column(name)]
        return parsed_numbers(texts, self.lines, "precipitation")


def read_csv(lines: Sequence[str], units: Units | None) -> RawDays:
    """Days of a CSV with a header; `units` are those stated outside the file.

    RecordError names the line and what to give instead; a gardener's CSV must say its units.
    """
    table = _table(lines)
    upper = [name.upper() for name in table.names]
    lower = [name.lower() for name in table.names]
    states_units = any(unit for _, unit in _plain_columns(lower).values())
    if "STATION" in upper and "DATE" in upper and not states_units:
        return _read_ncei(_Table(upper, table.lines, table.rows), units)
    return _read_plain(_Table(lower, table.lines, table.rows), units)


def _table(lines: Sequence[str]) -> _Table:
    text = ["" if line.startswith("#") else line for line in lines]
    head = next((line for line in text if line.strip()), "")
    delimiter = max(",;\t", key=head.count)
    reader = csv.reader(text, delimiter=delimiter, skipinitialspace=True)
    try:
        table = [(reader.line_num, row) for row in reader if any(map(str.strip, row))]
    except csv.Error as error:
        raise RecordError(
            f"Line {reader.line_num} is not CSV ({error}); give one day a line, split by commas."
        ) from None
    if not table:
        raise unknown_format(f"The line {shown(head.strip())}")
    number, header = table[0]
    names = [name.strip() for name in header]
    if len(names) < 2 or (len(names) == 2 and "date" not in map(str.lower, names)):
        raise unknown_format(f"Line {number}, {shown(head.strip())},")
    unique_header(names, number)
    for number, row in table[1:]:
        if len(row) != len(names) and any(map(str.strip, row[len(names) :] or [" x"])):
            raise RecordError(
                f"Line {number} has {len(row)} columns where the header has {len(names)}; "
                "give every line the header's columns, empty where a value is missing."
            )
    if len(table) == 1:
        raise RecordError("The file has a header and no days; give one line for each day below it.")
    return _Table(names, [n for n, _ in table[1:]], [row for _, row in table[1:]])


def _read_ncei(table: _Table, units: Units | None) -> RawDays:
    _need(table, {"TMIN", "TMAX"}, "STATION,DATE,TMAX,TMIN")
    station = only_station(table.column("STATION"), table.lines)
    rejected: dict[str, int] = {}
    values = {}
    for name, what in (("TMIN", "a minimum"), ("TMAX", "a maximum"), ("PRCP", None)):
        if name not in table.names:
            continue
        values[name] = table.numbers(name, what) if what else table.rain(name)
        if f"{name}_ATTRIBUTES" in table.names:
            flags = [_has_quality_flag(text) for text in table.column(f"{name}_ATTRIBUTES")]
            bad = np.array(flags) & ~np.isnan(values[name])
            values[name][bad] = np.nan
            if name != "PRCP" and bad.any():
                rejected[QUALITY_FLAG] = rejected.get(QUALITY_FLAG, 0) + int(bad.sum())
    return RawDays(
        format="NCEI daily CSV",
        station=station,
        latitude=_latitude(table),
        units=units,
        lines=np.array(table.lines),
        dates=parsed_dates(table.column("DATE"), table.lines),
        tmin=values["TMIN"],
        tmax=values["TMAX"],
        precip=values.get("PRCP"),
        rejected=rejected,
        precip_follows_units=True,
        whole_numbers_mean_tenths="TMAX_ATTRIBUTES" in table.names,
    )


def _has_quality_flag(attributes: str) -> bool:
    parts = attributes.split(",")
    return len(parts) > 1 and parts[1].strip() != ""


def _latitude(table: _Table) -> float | None:
    if "LATITUDE" not in table.names:
        return None
    values = table.numbers("LATITUDE", "a latitude")
    known = values[~np.isnan(values)]
    if known.size == 0 or not -90 <= known[0] <= 90:
        return None
    return float(known[0])


def _need(table: _Table, columns: set[str], example: str) -> None:
    missing = sorted(columns - set(table.names))
    if missing:
        raise RecordError(f"The header lacks {' and '.join(missing)}; give the columns {example}.")


def _read_plain(table: _Table, stated: Units | None) -> RawDays:
    found = _plain_columns(table.names)
    missing = [name for name in ("date", "tmin", "tmax") if name not in found]
    if missing:
        if "tmin" not in found and "tmax" not in found:
            raise unknown_format(f"The header {shown(','.join(table.names))}")
        raise RecordError(
            f"The header {shown(','.join(table.names))} lacks {' and '.join(missing)}; "
            "give the columns date,tmin_c,tmax_c."
        )
    units = _plain_units(found, stated)
    precip = None
    if "precip" in found:
        name, unit = found["precip"]
        inches = unit in ("in", "inch", "inches") or (unit is None and units == "F")
        with np.errstate(over="ignore"):
            precip = table.rain(name) * (_MM_PER_INCH if inches else 1.0)
    return RawDays(
        format="CSV date,tmin,tmax",
        station=None,
        latitude=None,
        units=units,
        lines=np.array(table.lines),
        dates=parsed_dates(table.column(found["date"][0]), table.lines),
        tmin=table.numbers(found["tmin"][0], "a minimum"),
        tmax=table.numbers(found["tmax"][0], "a maximum"),
        precip=precip,
    )


def _plain_columns(names: Sequence[str]) -> dict[str, tuple[str, str | None]]:
    """Column name and unit word by what the column holds; the first that fits wins."""
    found: dict[str, tuple[str, str | None]] = {}
    for name in names:
        if name in ("date", "day"):
            found.setdefault("date", (name, None))
            continue
        match = _COLUMN.fullmatch(name.replace(" ", "_"))
        for what, stems in _STEMS.items():
            if match is not None and match["stem"] in stems:
                found.setdefault(what, (name, match["unit"]))
    return found


def _plain_units(found: dict[str, tuple[str, str | None]], stated: Units | None) -> Units:
    words = [found["tmin"][1], found["tmax"][1]]
    units = {_UNITS.get(word) if word else None for word in words}
    if len(units) > 1:
        raise RecordError(
            f"The header gives {found['tmin'][0]!r} and {found['tmax'][0]!r}, which do not state "
            f"one and the same unit; {HOW_TO_STATE_UNITS} for both."
        )
    in_header = units.pop()
    if in_header is not None and stated is not None and in_header != stated:
        raise RecordError(
            f"The header says degrees {in_header} and the stated units are {stated}; "
            "correct one of them or leave the stated units out."
        )
    chosen = in_header or stated
    if chosen is None:
        raise RecordError(
            f"The header {found['tmin'][0]!r}, {found['tmax'][0]!r} does not say whether the "
            f"values are C or F; {HOW_TO_STATE_UNITS}."
        )
    return chosen
