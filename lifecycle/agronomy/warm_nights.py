"""Between which dates the nights stay above a limit, in the mean and with one year in ten at risk.

No standard was found for this; the parts are standard: a smoothed daily climatology, and the share
of years with a colder night still to come.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord, celsius
from lifecycle.agronomy.day_of_year import DAYS_IN_YEAR, day_of_year, month_day
from lifecycle.agronomy.freeze import freeze_grid
from lifecycle.agronomy.year_grid import Hemisphere, YearGrid

LIMITS_F = (50, 55, 60)
NEVER, ALL_YEAR = "never", "all year"
_SMOOTHING_DAYS = 15
_RISK = 0.1
_MOST_MISSING_BEFORE_MIDSUMMER = 5
_MIDSUMMER = {"north": 213, "south": 32}  # 1 August, 1 February


@dataclass(frozen=True, slots=True)
class WarmNights:
    """Warm nights at one limit: each value is `MM-DD`, "never", "all year" or None (no data).

    `start` and `end` bound the unbroken stretch around the warmest night in which the smoothed
    mean Tmin is at or above the limit. `risk10` is the first date from which at most one year in
    ten still brings a colder night before midsummer (1 August, 1 February in the south); "never"
    when colder nights come right up to midsummer. `years` counts the years behind `risk10`.
    """

    limit_f: int
    start: str | None
    end: str | None
    risk10: str | None
    years: int


def smoothed_minima(record: DailyRecord) -> NDArray[np.float64]:
    """Mean Tmin (degrees C) of each day of the 365-day year, smoothed over 15 days round the year.

    365 values; a day is NaN when fewer than 8 of its 15 days have any Tmin.
    """
    return _smoothed(record.dates, record.tmin_c)


def smoothed_maxima(record: DailyRecord) -> NDArray[np.float64]:
    """Mean Tmax (degrees C) of each day of the 365-day year, as `smoothed_minima`."""
    return _smoothed(record.dates, record.tmax_c)


def _smoothed(dates: NDArray[np.datetime64], values: NDArray[np.float64]) -> NDArray[np.float64]:
    known = ~np.isnan(values)
    day = day_of_year(dates[known]) - 1
    count = np.bincount(day, minlength=DAYS_IN_YEAR)
    total = np.bincount(day, weights=values[known], minlength=DAYS_IN_YEAR)
    have = count > 0
    mean = np.where(have, total / np.maximum(count, 1), 0.0)
    smooth, support = _circular_sum(mean), _circular_sum(have.astype(np.float64))
    return np.where(support > _SMOOTHING_DAYS / 2, smooth / np.maximum(support, 1), np.nan)


def _circular_sum(values: NDArray[np.float64]) -> NDArray[np.float64]:
    half = _SMOOTHING_DAYS // 2
    wrapped = np.concatenate((values[-half:], values, values[:half]))
    return np.convolve(wrapped, np.ones(_SMOOTHING_DAYS), mode="valid")


def warm_stretch(curve_c: NDArray[np.float64], limit_c: float) -> tuple[str | None, str | None]:
    """Start and end of the stretch around the curve's maximum that is at or above `limit_c`.

    `curve_c` holds 365 values; (None, None) when one of them is missing.
    """
    if np.any(np.isnan(curve_c)):
        return None, None
    warm = curve_c >= limit_c - 1e-9
    if not warm.any():
        return NEVER, NEVER
    if warm.all():
        return ALL_YEAR, ALL_YEAR
    peak = int(np.argmax(curve_c))
    before = int(np.argmin(np.roll(warm, -peak - 1)[::-1])) - 1
    after = int(np.argmin(np.roll(warm, -peak))) - 1
    start, end = (peak - before) % DAYS_IN_YEAR, (peak + after) % DAYS_IN_YEAR
    return month_day(start + 1), month_day(end + 1)


def risk_date(grid: YearGrid, limit_f: float, hemisphere: Hemisphere) -> tuple[str | None, int]:
    """First date from which at most 10 % of years bring a night below `limit_f` before midsummer.

    `grid` is a `freeze_grid`. Years lacking more than 5 nights before midsummer do not count.
    Returns the date (see `WarmNights`) and the number of years.
    """
    midsummer = grid.column(_MIDSUMMER[hemisphere])
    spring = grid.values[:, :midsummer]
    spring = spring[np.isnan(spring).sum(axis=1) <= _MOST_MISSING_BEFORE_MIDSUMMER]
    years = spring.shape[0]
    if years == 0:
        return None, years
    cold = spring < limit_f - 1e-6
    last = np.where(cold.any(axis=1), midsummer - np.argmax(cold[:, ::-1], axis=1), 0)
    allowed = math.floor(_RISK * years + 1e-9)
    column = int(np.sort(last)[::-1][allowed])
    if column == 0:
        return ALL_YEAR, years
    if column >= midsummer:
        return NEVER, years
    return month_day(grid.day(column)), years


def warm_nights(
    record: DailyRecord,
    limit_f: int,
    hemisphere: Hemisphere,
    curve_c: NDArray[np.float64] | None = None,
    grid: YearGrid | None = None,
) -> WarmNights:
    """Warm nights at one limit; `curve_c` and `grid` spare computing them again."""
    if curve_c is None:
        curve_c = smoothed_minima(record)
    if grid is None:
        grid = freeze_grid(record, hemisphere)
    start, end = warm_stretch(curve_c, celsius(limit_f))
    risk10, years = risk_date(grid, limit_f, hemisphere)
    return WarmNights(limit_f, start, end, risk10, years)
