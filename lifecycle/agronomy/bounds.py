"""Numbers that cannot be true are refused with one sentence: what it is, and what to give."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def within(
    what: str, values: ArrayLike, low: float, high: float, unit: str = "", *, gaps: bool = False
) -> NDArray[np.float64]:
    """Return `values` as float64 when each lies from `low` to `high`, both included.

    ValueError names `what` (capitalised, as it begins the sentence), the first value at fault and
    the bounds in `unit`. NaN is refused too unless `gaps` allows missing values.
    """
    numbers = np.asarray(values, dtype=np.float64)
    good = (numbers >= low) & (numbers <= high)
    if gaps:
        good |= np.isnan(numbers)
    if not good.all():
        wrong = float(numbers[~good].flat[0])
        is_wrong = "is missing" if np.isnan(wrong) else f"is {wrong:,.10g}"
        raise ValueError(
            f"{what} {is_wrong}; give a value from {low:,.10g} to {high:,.10g} {unit}".rstrip()
            + "."
        )
    return numbers


def number_within(what: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return one number from `low` to `high`, as `within` does for many."""
    return float(within(what, value, low, high, unit))


def day_extremes(
    tmin: ArrayLike, tmax: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return daily minima and maxima as arrays of one shape, NaN where missing.

    ValueError when the shapes differ, a value is infinite or a maximum lies below its minimum.
    """
    low = np.asarray(tmin, dtype=np.float64)
    high = np.asarray(tmax, dtype=np.float64)
    if low.shape != high.shape:
        raise ValueError(
            f"There are {low.size} minima and {high.size} maxima; give one of each for every day."
        )
    if np.isinf(low).any() or np.isinf(high).any():
        raise ValueError("A temperature is infinite; give a number, or none where it is missing.")
    crossed = high < low
    if crossed.any():
        day = int(np.flatnonzero(crossed)[0])
        raise ValueError(
            f"The maximum {high.flat[day]:g} is below the minimum {low.flat[day]:g} on day "
            f"{day + 1}; check whether the two were swapped."
        )
    return low, high
