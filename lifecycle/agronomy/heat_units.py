"""Heat units (growing degree-days) of each day from its minimum and maximum.

Base and ceiling are in the unit of the temperatures, and so are the units that come out: F-units
from degrees F, C-units from degrees C. A total means something only with the method, base,
ceiling and starting event it was fitted with.

Methods and cut-off kinds: UC IPM, "About degree-days"; Oregon State IPPC, "Degree-day
calculation methods"; single sine: Baskerville & Emin 1969, Ecology 50:514-517. The zero floor is
convention.
"""

import math
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import day_extremes
from lifecycle.agronomy.hourly import share_below

Floats = NDArray[np.float64]
# A sum of many days falls short of a whole number by no more than this.
_ROUNDING = 1e-9


class Method(StrEnum):
    """How a day's heat is reckoned; L is the base, U the ceiling."""

    AVERAGE = "simple average"  # max(0, mean - L); takes no ceiling
    MODIFIED = "modified average"  # both extremes brought into L..U first, then the mean - L
    SINGLE_SINE = "single sine"
    DOUBLE_SINE = "double sine"  # mean of the sines with this and with the next day's minimum
    REDUCED_CEILING = "reduced ceiling"  # maximum - L; a maximum above U counts as 2 U - maximum


class Cutoff(StrEnum):
    """What heat above the ceiling does under a sine; S(x) is the area of the sine above x."""

    NONE = "none"  # S(L): the ceiling is not used
    HORIZONTAL = "horizontal"  # S(L) - S(U): development goes on at its highest rate
    INTERMEDIATE = "intermediate"  # S(L) - 2 S(U): it slows down
    VERTICAL = "vertical"  # S(L) - S(U) - (U - L) * share of the day above U: it stops


_SINES = (Method.SINGLE_SINE, Method.DOUBLE_SINE)


def heat_units(
    tmin: ArrayLike,
    tmax: ArrayLike,
    method: Method,
    base: float | None,
    ceiling: float | None = None,
    cutoff: Cutoff = Cutoff.HORIZONTAL,
    *,
    next_tmin: float | None = None,
) -> Floats:
    """Heat units of each day, never below 0, NaN where a value is missing.

    `tmin` and `tmax` are arrays of consecutive days. `cutoff` says what the sine methods do with a
    ceiling; the other methods have a cut-off of their own and take no other than the default.
    The double sine also uses the minimum of the day after: `next_tmin` is that of the day after
    the last, and without it the last day is NaN. ValueError when a maximum lies below its minimum,
    the base is missing, the ceiling is missing where the method needs one or not above the base,
    or the method takes no ceiling or cut-off.
    """
    low, high = day_extremes(tmin, tmax)
    base, ceiling = _thresholds(method, base, ceiling, cutoff)
    if method is Method.DOUBLE_SINE:
        following = np.append(low[1:], np.nan if next_tmin is None else next_tmin)
        first = _sine(low, high, base, ceiling, cutoff)
        # After a warm night the next minimum may lie above today's maximum.
        second = _sine(
            np.minimum(following, high), np.maximum(following, high), base, ceiling, cutoff
        )
        return (first + second) / 2
    if method is Method.SINGLE_SINE:
        return _sine(low, high, base, ceiling, cutoff)
    if method is Method.REDUCED_CEILING:
        reduced = np.where(np.isnan(low), np.nan, np.minimum(high, 2 * ceiling - high))
        return np.maximum(reduced - base, 0.0)
    if method is Method.MODIFIED:
        low, high = np.clip(low, base, ceiling), np.clip(high, base, ceiling)
    return np.maximum((low + high) / 2 - base, 0.0)


def day_units(
    tmin: float,
    tmax: float,
    method: Method,
    base: float | None,
    ceiling: float | None = None,
    cutoff: Cutoff = Cutoff.HORIZONTAL,
    *,
    next_tmin: float | None = None,
) -> float:
    """Heat units of one day; see `heat_units`.

    ValueError also when the double sine lacks the next day's minimum.
    """
    if method is Method.DOUBLE_SINE and next_tmin is None:
        raise ValueError("The double sine needs the next day's minimum as well; give it.")
    return float(heat_units([tmin], [tmax], method, base, ceiling, cutoff, next_tmin=next_tmin)[0])


def _thresholds(
    method: Method, base: float | None, ceiling: float | None, cutoff: Cutoff
) -> tuple[float, float]:
    """Base, and the ceiling or infinity where there is none."""
    if base is None or not math.isfinite(base):
        raise ValueError(
            "There is no base temperature for this crop, so its heat cannot be counted; "
            "give one with its source."
        )
    if method not in _SINES and cutoff is not Cutoff.HORIZONTAL:
        raise ValueError(f"The {method} has a cut-off of its own; leave the cut-off kind out.")
    if ceiling is None:
        if method in (Method.MODIFIED, Method.REDUCED_CEILING):
            raise ValueError(f"The {method} needs a ceiling; give one, such as 86 F (30 C).")
        return base, math.inf
    if method is Method.AVERAGE:
        raise ValueError(
            "The simple average takes no ceiling; leave it out, or choose the modified average "
            "or a sine."
        )
    if not (math.isfinite(ceiling) and ceiling > base):
        raise ValueError(
            f"The ceiling {ceiling:g} is not above the base {base:g}; give a higher ceiling."
        )
    return base, ceiling


def _sine(low: Floats, high: Floats, base: float, ceiling: float, cutoff: Cutoff) -> Floats:
    above_base = _area_above(low, high, base)
    if cutoff is Cutoff.NONE or math.isinf(ceiling):
        return above_base
    above_ceiling = _area_above(low, high, ceiling)
    if cutoff is Cutoff.INTERMEDIATE:
        return np.maximum(above_base - 2 * above_ceiling, 0.0)
    if cutoff is Cutoff.VERTICAL:
        time_above = np.where(high > ceiling, 1 - share_below(low, high, ceiling), 0.0)
        above_ceiling = above_ceiling + (ceiling - base) * time_above
    return np.maximum(above_base - above_ceiling, 0.0)


def _area_above(low: Floats, high: Floats, limit: float) -> Floats:
    """Mean height, over the day, of the part of the sine above `limit`."""
    mean, half_range = (low + high) / 2, (high - low) / 2
    crossing = (low < limit) & (limit < high)
    height = np.clip((limit - mean) / np.where(crossing, half_range, 1.0), -1.0, 1.0)
    theta = np.arcsin(height)
    area = ((mean - limit) * (np.pi / 2 - theta) + half_range * np.cos(theta)) / np.pi
    return np.where(crossing, area, np.maximum(mean - limit, 0.0))


def accumulated(units: ArrayLike) -> Floats:
    """Running total of daily heat units; a missing day adds nothing."""
    return np.cumsum(np.nan_to_num(np.asarray(units, dtype=np.float64), nan=0.0))


def date_reached(dates: NDArray[np.datetime64], units: ArrayLike, total: float) -> date | None:
    """First date on which the running total reaches `total`; None when it never does.

    `dates` (datetime64[D], in order) and `units` run together from the starting event on. Missing
    days add nothing, so the date can only come too late. ValueError when `total` is not above 0.
    """
    if not total > 0:
        raise ValueError(f"A total of heat units is above 0, not {total:g}; give a higher one.")
    reached = accumulated(units) >= total - _ROUNDING
    if not reached.any():
        return None
    found: date = dates[int(np.argmax(reached))].astype("datetime64[D]").item()
    return found
