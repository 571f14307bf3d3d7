"""Daily values laid out one row a year and one column a day, ready for one look along each row."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.day_of_year import DAYS_IN_YEAR, day_of_year

Hemisphere = Literal["north", "south"]
JANUARY = 1
JULY = 182  # 1 July in the 365-day year


@dataclass(frozen=True, slots=True)
class YearGrid:
    """Values by year and day.

    `years[i]` is the calendar year in which row i begins; `values[i, j]` the value j days after
    `first_day` (day of the 365-day year), NaN where there is none; `counts[i]` the days with a
    value in row i, 29 February counted by itself.
    """

    first_day: int
    years: NDArray[np.int64]
    values: NDArray[np.float64]
    counts: NDArray[np.int64]

    def column(self, day: int) -> int:
        """Column of a day of the year (1..365)."""
        return (day - self.first_day) % DAYS_IN_YEAR

    def day(self, column: int) -> int:
        """Day of the year (1..365) of a column."""
        return (self.first_day - 1 + column) % DAYS_IN_YEAR + 1


def year_grid(
    dates: NDArray[np.datetime64], values: NDArray[np.float64], first_day: int
) -> YearGrid:
    """Lay daily values out by year.

    `dates` (datetime64[D], no repeats) and `values` have one length; `first_day` is the day of the
    365-day year on which a row begins. 28 and 29 February share a column, which keeps the lower.
    """
    known = ~np.isnan(values)
    dates, values = dates[known], values[known]
    if dates.size == 0:
        empty = np.empty(0, dtype=np.int64)
        return YearGrid(first_day, empty, np.empty((0, DAYS_IN_YEAR)), empty)
    day = day_of_year(dates)
    year = dates.astype("datetime64[Y]").astype(np.int64) + 1970 - (day < first_day)
    first_year = int(year.min())
    rows = int(year.max()) - first_year + 1
    grid = np.full((rows, DAYS_IN_YEAR), np.inf)
    np.minimum.at(grid, (year - first_year, (day - first_day) % DAYS_IN_YEAR), values)
    grid[np.isinf(grid)] = np.nan
    counts = np.bincount(year - first_year, minlength=rows)
    return YearGrid(first_day, np.arange(first_year, first_year + rows), grid, counts)
