"""A station's daily minima and maxima, and the one error a bad file gives."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Units = Literal["C", "F", "tenths"]

#: A Celsius value never stands closer than this to a limit than its rounding allows.
CELSIUS_SLACK = 0.05


class RecordError(ValueError):
    """A record that cannot be used; its text is one sentence: what, where, and what to give."""


def fahrenheit(celsius: NDArray[np.float64]) -> NDArray[np.float64]:
    """Degrees F of degrees C."""
    return celsius * 1.8 + 32.0


def celsius(degrees_f: float) -> float:
    """Degrees C of degrees F."""
    return (degrees_f - 32.0) / 1.8


@dataclass(frozen=True, slots=True)
class DailyRecord:
    """One station's days, cleaned.

    `dates` are sorted, unique datetime64[D]; `tmin_c`, `tmax_c` (degrees C) and `precip_mm` run
    along with them, NaN where there is no value. `native_unit` is the unit the observer wrote
    and `precision` its step in that unit: ("F", 1.0) also for whole degrees F that were stored
    as tenths of degrees C. `rejected` counts dropped values by reason; `duplicates` counts
    values that only repeated a value already there.
    """

    format: str
    station: str | None
    latitude: float | None
    dates: NDArray[np.datetime64]
    tmin_c: NDArray[np.float64]
    tmax_c: NDArray[np.float64]
    precip_mm: NDArray[np.float64] | None = None
    native_unit: Literal["C", "F"] = "C"
    precision: float = 0.1
    rejected: Mapping[str, int] = field(default_factory=dict)
    duplicates: int = 0
    units_inferred: str | None = None

    def minima_f(self) -> NDArray[np.float64]:
        """Tmin in degrees F, whole again where the observer wrote whole degrees F.

        28 F stored as tenths of degrees C is -2.2 C, which is 28.04 F and no longer "28 or
        below": rounding back undoes that.
        """
        values = fahrenheit(self.tmin_c)
        whole = self.native_unit == "F" and self.precision == 1.0
        return np.rint(values) if whole else values

    def slack_f(self) -> float:
        """How far above a limit (degrees F) a stored value may lie and still be at the limit.

        Half the stored step, at most 0.05 C; nothing for whole degrees F, which are exact.
        """
        if self.native_unit == "F":
            return 1e-6 if self.precision == 1.0 else min(CELSIUS_SLACK * 1.8, self.precision / 2)
        return min(CELSIUS_SLACK, self.precision / 2) * 1.8

    def between(self, first_year: int | None, last_year: int | None) -> "DailyRecord":
        """The days from 1 January of `first_year` to 31 December of `last_year` (None: open).

        RecordError when the years are in the wrong order or hold no day of the record.
        """
        if first_year is None and last_year is None:
            return self
        if first_year is not None and last_year is not None and first_year > last_year:
            raise RecordError(
                f"The first year {first_year} comes after the last year {last_year}; "
                "give the earlier year first."
            )
        years = self.dates.astype("datetime64[Y]").astype(np.int64) + 1970
        keep = np.ones(years.shape, dtype=bool)
        if first_year is not None:
            keep &= years >= first_year
        if last_year is not None:
            keep &= years <= last_year
        if not np.any(keep & ~np.isnan(self.tmin_c)):
            raise RecordError(
                f"The record runs from {self.dates[0]} to {self.dates[-1]} and has no minimum in "
                f"the years asked for; give years within that span."
            )
        return replace(
            self,
            dates=self.dates[keep],
            tmin_c=self.tmin_c[keep],
            tmax_c=self.tmax_c[keep],
            precip_mm=None if self.precip_mm is None else self.precip_mm[keep],
        )
