"""What a site's record says of a night's low before any forecast: the nights themselves.

For every fifth day of the year the record's nights within 15 days of it, of all years, are counted
by half degrees. That is the 31-day smoothed climatology of the whole year's nights, with the tails
as they are: a normal curve of the same mean and spread says too little of rare cold
(docs/frost.md).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.day_of_year import DAYS_IN_YEAR, day_of_year

Floats = NDArray[np.float64]
Dates = NDArray[np.datetime64]

STEP_C = 0.5
HALF_WINDOW = 15
DAYS_APART = 5
SEASONS = DAYS_IN_YEAR // DAYS_APART
"""Counts a year: one for every fifth day."""

LEAST_YEARS = 5
LEAST_NIGHTS = 100
"""Nights that a count must hold. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class NightPrior:
    """Nights by season and low.

    `counts` has the shape (73, bins): row i is about the day 3 + 5 i of the 365-day year, column
    j about a low of `coldest_c` + 0.5 j C. `years` and `nights` are those of the record.
    """

    coldest_c: float
    counts: NDArray[np.int64]
    years: int
    nights: int

    def lows_c(self) -> Floats:
        """The low in C that each column stands for."""
        return self.coldest_c + STEP_C * np.arange(self.counts.shape[1], dtype=np.float64)

    def season(self, day: date) -> NDArray[np.int64]:
        """How many nights about this day of the year had each low."""
        return self.counts[season_of(np.datetime64(day, "D"))]

    def as_stored(self) -> dict[str, Any]:
        """JSON-able; `from_stored` gives an equal prior back. Rows begin at their first night."""
        rows = []
        for row in self.counts:
            held = np.flatnonzero(row)
            rows.append([int(held[0]), *map(int, row[held[0] : held[-1] + 1])])
        return {
            "coldest_c": self.coldest_c,
            "bins": int(self.counts.shape[1]),
            "years": self.years,
            "nights": self.nights,
            "rows": rows,
        }

    @classmethod
    def from_stored(cls, stored: Mapping[str, Any]) -> "NightPrior":
        """The prior that `as_stored` wrote; KeyError or ValueError when it is something else."""
        rows = stored["rows"]
        if len(rows) != SEASONS:
            raise ValueError(f"Nights are kept in {SEASONS} rows, not {len(rows)}.")
        counts = np.zeros((SEASONS, stored["bins"]), dtype=np.int64)
        for season, (first, *numbers) in enumerate(rows):
            counts[season, first : first + len(numbers)] = numbers
        return cls(stored["coldest_c"], counts, stored["years"], stored["nights"])


def season_of(dates: Dates | np.datetime64) -> NDArray[np.int64]:
    """The row of a prior that a date belongs to, 0 to 72."""
    return np.asarray((day_of_year(np.asarray(dates)) - 1) // DAYS_APART, dtype=np.int64)


def prior_of(record: DailyRecord) -> NightPrior:
    """The nights of a record. ValueError when they are too few or leave a season open."""
    known = ~np.isnan(record.tmin_c)
    return prior_of_nights(record.dates[known], record.tmin_c[known])


def prior_of_nights(dates: Dates, lows_c: Floats) -> NightPrior:
    """The same of dates and lows in C, both of shape (nights,).

    ValueError below 5 years with nights, or when fewer than 100 lie within 15 days of some day.
    """
    years = np.unique(dates.astype("datetime64[Y]")).size
    if years < LEAST_YEARS:
        raise ValueError(
            f"The nights of a site need {LEAST_YEARS} years and there are {years}; send a longer "
            "record."
        )
    bins, coldest, width = bins_of(lows_c)
    counts = windowed(by_day(dates, bins, width))
    if counts.sum(axis=1).min() < LEAST_NIGHTS:
        raise ValueError(
            "The record leaves a part of the year open; send one that covers all its seasons."
        )
    return NightPrior(coldest, counts, int(years), int(lows_c.size))


def bins_of(lows_c: Floats) -> tuple[NDArray[np.int64], float, int]:
    """The column of each low, the low that column 0 stands for, and the number of columns."""
    steps = np.rint(lows_c / STEP_C).astype(np.int64)
    first = int(steps.min())
    return steps - first, first * STEP_C, int(steps.max()) - first + 1


def by_day(dates: Dates, bins: NDArray[np.int64], width: int) -> NDArray[np.int64]:
    """Nights by day of the year and column, shape (365, width)."""
    cell = (day_of_year(dates) - 1) * width + bins
    return np.bincount(cell, minlength=DAYS_IN_YEAR * width).reshape(DAYS_IN_YEAR, width)


def windowed(days: NDArray[np.int64]) -> NDArray[np.int64]:
    """Nights within 15 days of every fifth day, round the year: shape (73, width)."""
    around = np.concatenate((days[-HALF_WINDOW:], days, days[: HALF_WINDOW + 1]))
    running = np.concatenate((np.zeros_like(days[:1]), np.cumsum(around, axis=0)))
    centres = np.arange(DAYS_APART // 2, DAYS_IN_YEAR, DAYS_APART)
    return np.asarray(running[centres + 2 * HALF_WINDOW + 1] - running[centres], dtype=np.int64)
