"""USDA plant hardiness zone: the mean of the coldest night of each year, in 5 F half-zones.

Bands: USDA Plant Hardiness Zone Map. The map's own rule for a mean that lies exactly on an edge is
not published; here the lower edge belongs to the warmer half-zone.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord, celsius, fahrenheit
from lifecycle.agronomy.year_grid import JANUARY, JULY, Hemisphere, YearGrid, year_grid

Window = Literal["season", "calendar"]
Status = Literal["firm", "provisional", "indicative"]

COLDER = "colder than 1a"
WARMER = "warmer than 13b"
FIRM_YEARS, PROVISIONAL_YEARS = 20, 10
_LOWEST_F, _HALF_ZONE_F, _HALF_ZONES = -60, 5, 26
_NEAR_EDGE_F = 1.0
_MOST_MISSING_IN_WINTER = 5
WHOLE_YEAR = 360
#: First day and length of the three coldest months in the 365-day year.
_COLDEST = {"north": (335, 90), "south": (152, 92)}


@dataclass(frozen=True, slots=True)
class ZoneEstimate:
    """The zone of a record: `mean_extreme_min_f` is the unrounded mean of `annual_minima_f`.

    `annual_minima_f` holds (calendar year in which the twelve months begin, degrees F). Without
    one usable year the zone, the means and the error are None and `years` is 0.
    """

    half_zone: str | None
    mean_extreme_min_f: float | None
    mean_extreme_min_c: float | None
    years: int
    window: Window
    standard_error_f: float | None
    status: Status
    near_edge: bool
    annual_minima_f: tuple[tuple[int, float], ...]

    def zone_range(self) -> tuple[str, str] | None:
        """Half-zones at the mean minus and plus one standard error; None without an error."""
        if self.mean_extreme_min_f is None or self.standard_error_f is None:
            return None
        low = half_zone(self.mean_extreme_min_f - self.standard_error_f)
        return low, half_zone(self.mean_extreme_min_f + self.standard_error_f)


def half_zone_number(mean_extreme_min_f: float) -> int:
    """floor((F + 60) / 5): 0 is 1a and 25 is 13b; other numbers lie outside the table."""
    return math.floor((round(mean_extreme_min_f, 6) - _LOWEST_F) / _HALF_ZONE_F)


def half_zone(mean_extreme_min_f: float) -> str:
    """Half-zone such as `5a`, the lower edge inclusive, or "colder than 1a" / "warmer than 13b".

    ValueError when the mean is not a finite number.
    """
    if not math.isfinite(mean_extreme_min_f):
        raise ValueError("A hardiness zone needs a finite mean in degrees F.")
    number = half_zone_number(mean_extreme_min_f)
    if number < 0:
        return COLDER
    if number >= _HALF_ZONES:
        return WARMER
    return f"{number // 2 + 1}{'ab'[number % 2]}"


def half_zone_edges_f(name: str) -> tuple[int, int]:
    """Lower and upper edge in degrees F of a half-zone `1a`..`13b`; ValueError otherwise."""
    for number in range(_HALF_ZONES):
        low = _LOWEST_F + _HALF_ZONE_F * number
        if half_zone(low) == name:
            return low, low + _HALF_ZONE_F
    raise ValueError(f"{name!r} is not a half-zone; write one from 1a to 13b.")


def near_edge(mean_extreme_min_f: float) -> bool:
    """Whether the mean lies within 1 F of an edge of its half-zone."""
    rest = round(mean_extreme_min_f, 6) % _HALF_ZONE_F
    return min(rest, _HALF_ZONE_F - rest) <= _NEAR_EDGE_F


def years_status(years: int) -> Status:
    """firm from 20 years, provisional from 10, indicative below."""
    if years >= FIRM_YEARS:
        return "firm"
    return "provisional" if years >= PROVISIONAL_YEARS else "indicative"


def annual_minima_f(
    record: DailyRecord, hemisphere: Hemisphere, window: Window
) -> tuple[tuple[int, float], ...]:
    """(year in which the twelve months begin, lowest Tmin in degrees F) of each usable year.

    `season` runs July to June in the north and January to December in the south, so that a winter
    is never cut; a season counts when its three coldest months (December to February, June to
    August) lack at most 5 days. `calendar` runs January to December and cuts northern winters, so
    a year counts only when 360 of its days are there. Values are taken as stored: rounding back to
    whole degrees F matters at a limit, not in a mean.
    """
    first_day = JULY if window == "season" and hemisphere == "north" else JANUARY
    grid = year_grid(record.dates, fahrenheit(record.tmin_c), first_day)
    whole = grid.counts >= WHOLE_YEAR if window == "calendar" else _winters(grid, hemisphere)
    return tuple(
        (int(year), float(np.nanmin(row)))
        for year, row in zip(grid.years[whole], grid.values[whole], strict=True)
    )


def _winters(grid: YearGrid, hemisphere: Hemisphere) -> NDArray[np.bool_]:
    first, length = _COLDEST[hemisphere]
    start = grid.column(first)
    missing = np.isnan(grid.values[:, start : start + length]).sum(axis=1)
    return np.asarray(missing <= _MOST_MISSING_IN_WINTER, dtype=np.bool_)


def zone_estimate(
    record: DailyRecord, hemisphere: Hemisphere, window: Window = "season"
) -> ZoneEstimate:
    """Zone, mean coldest night, its standard error (sd with n - 1, over sqrt(n)) and standing."""
    minima = annual_minima_f(record, hemisphere, window)
    years = len(minima)
    if years == 0:
        return ZoneEstimate(None, None, None, 0, window, None, "indicative", False, ())
    values = np.array([value for _, value in minima])
    mean = float(values.mean())
    error = float(values.std(ddof=1) / math.sqrt(years)) if years > 1 else None
    return ZoneEstimate(
        half_zone=half_zone(mean),
        mean_extreme_min_f=mean,
        mean_extreme_min_c=celsius(mean),
        years=years,
        window=window,
        standard_error_f=error,
        status=years_status(years),
        near_edge=near_edge(mean),
        annual_minima_f=minima,
    )
