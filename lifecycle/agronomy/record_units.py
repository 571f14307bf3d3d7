"""Which unit a file's temperatures are in, and whether the stated one can be true."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import RecordError, Units, fahrenheit
from lifecycle.agronomy.raw_days import RawDays

#: No air temperature outside these was ever measured at a station (degrees C).
COLDEST_C, HOTTEST_C = -95.0, 60.0
IMPOSSIBLE = "impossible as an air temperature"

_NAMES: dict[Units, str] = {
    "C": "degrees C",
    "F": "degrees F",
    "tenths": "tenths of a degree C",
}
_WHOLE_YEAR = 300
_WIDEST_USUAL_RANGE_F = 45.0
_COLDEST_SUMMER_C = 8.0
_MOST_IMPOSSIBLE = 0.001
_FEW = 3
_NEARLY_ALL = 0.97


def in_celsius(values: NDArray[np.float64], units: Units) -> NDArray[np.float64]:
    """Degrees C of values in `units`."""
    if units == "F":
        return (values - 32.0) / 1.8
    return values / 10.0 if units == "tenths" else values


def inferred_units(raw: RawDays) -> tuple[Units, str]:
    """Units of an NCEI CSV that states none, and a sentence that says so.

    Highest maximum above 140 or below -150: tenths; above 60: F; else C. RecordError where whole
    numbers leave it open.
    """
    known = raw.tmax[~np.isnan(raw.tmax)]
    if known.size == 0:
        raise RecordError(
            "The file holds no maximum to tell its units by; state C, F or tenths of a degree C."
        )
    highest = float(known.max())
    spread = raw.tmax - raw.tmin
    spread = spread[~np.isnan(spread)]
    wide = spread.size > 0 and float(np.median(spread)) > _WIDEST_USUAL_RANGE_F
    whole = bool(np.all(known == np.rint(known)))
    if whole and (highest > 140 or highest < -150 or wide):
        units: Units = "tenths"
    elif highest > 60:
        units = "F"
    elif whole and not (known.size >= _WHOLE_YEAR and 20 <= highest <= 48):
        if not raw.whole_numbers_mean_tenths:
            raise RecordError(
                f"The file does not state its units, and whole numbers up to {highest:g} may be "
                "C, F or tenths of a degree C; state which."
            )
        units = "tenths"
    else:
        units = "C"
    return units, (
        f"The file does not state its units; a highest maximum of {highest:g} was read as "
        f"{_NAMES[units]}."
    )


def check_units(raw: RawDays, units: Units) -> None:
    """RecordError when the values cannot be in `units`: first line at fault and what to state.

    Where the format itself fixes the units (`raw.units_fixed`) no other unit is offered.

    Single impossible values pass here (they are rejected one by one); more than three that make
    up one in a thousand, or half of the maxima, do not.
    """
    _check_tenths_are_whole(raw, units)
    values = np.concatenate((raw.tmin, raw.tmax))
    lines = np.concatenate((raw.lines, raw.lines))
    bad = impossible(in_celsius(values, units))
    known = int(np.count_nonzero(~np.isnan(values)))
    hot = np.count_nonzero(impossible(in_celsius(raw.tmax, units)))
    maxima = np.count_nonzero(~np.isnan(raw.tmax))
    if 2 * hot > maxima or bad.sum() > max(_FEW, _MOST_IMPOSSIBLE * known):
        worst = int(np.flatnonzero(bad)[np.argmin(lines[bad])])
        raise RecordError(
            f"Line {lines[worst]} has {values[worst]:g}, which is impossible in {_NAMES[units]}, "
            f"and {int(bad.sum())} of {known} values are; {_advice(raw, values, units)}."
        )
    _check_summer(raw, units)


def impossible(values_c: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which values (degrees C) lie outside what the air was ever measured at; NaN does not."""
    return np.asarray((values_c < COLDEST_C) | (values_c > HOTTEST_C), dtype=np.bool_)


def _advice(raw: RawDays, values: NDArray[np.float64], units: Units) -> str:
    others: tuple[Units, ...] = () if raw.units_fixed else ("F", "C", "tenths")
    for other in others:
        read = in_celsius(values, other)
        fits = not impossible(read).any() and np.nanmax(read) > 0
        whole = other != "tenths" or np.nanmax(np.abs(values)) > 140
        if other != units and fits and whole:
            return f"state {_NAMES[other]} instead, if that is what they are"
    return "a file has to hold one unit throughout, so correct these lines or leave them empty"


def _check_tenths_are_whole(raw: RawDays, units: Units) -> None:
    if units != "tenths":
        return
    for values in (raw.tmin, raw.tmax):
        broken = np.flatnonzero(np.abs(values - np.rint(values)) > 1e-9)
        if broken.size:
            at = broken[np.argmin(raw.lines[broken])]
            raise RecordError(
                f"Line {raw.lines[at]} has {values[at]:g}, but tenths of a degree C are whole "
                "numbers; state C or F instead."
            )


def _check_summer(raw: RawDays, units: Units) -> None:
    known = ~np.isnan(raw.tmax)
    if units == "C" or np.count_nonzero(known) < _WHOLE_YEAR:
        return
    at = int(np.nanargmax(raw.tmax))
    warmest = float(in_celsius(raw.tmax[at : at + 1], units)[0])
    months = np.unique(raw.dates[known].astype("datetime64[M]").astype(np.int64) % 12)
    if months.size == 12 and warmest < _COLDEST_SUMMER_C:
        raise RecordError(
            f"The warmest day of the file, on line {raw.lines[at]}, would have only "
            f"{warmest:.1f} C if {raw.tmax[at]:g} were {_NAMES[units]}; state C instead, if that "
            "is what the values are."
        )


@dataclass(frozen=True, slots=True)
class NativeStep:
    """The unit an observer wrote and the step of the writing, in that unit."""

    unit: Literal["C", "F"]
    step: float


def native_step(values: NDArray[np.float64], units: Units) -> NativeStep:
    """Unit and step behind the values of a file in `units`.

    Values stored as tenths or hundredths of a degree C that nearly all lie on whole degrees F were
    written in whole degrees F (a fifth would lie there by chance).
    """
    known = values[~np.isnan(values)]
    if units == "F":
        return NativeStep("F", _step(known))
    values_c = in_celsius(known, units)
    step = _step(values_c)
    if step < 0.5 and known.size >= 20:
        whole = in_celsius(np.rint(fahrenheit(values_c)), "F")
        stored = np.rint(whole / step) * step
        if np.mean(np.abs(stored - values_c) < step * 0.6) >= _NEARLY_ALL:
            return NativeStep("F", 1.0)
    return NativeStep("C", step)


def _step(values: NDArray[np.float64]) -> float:
    for step in (1.0, 0.1):
        on_step = np.abs(values / step - np.rint(values / step)) < 1e-6
        if values.size and np.mean(on_step) >= 0.99:
            return step
    return 0.01
