"""Signs that a file changes its unit half-way or holds single days in another unit.

A value in C read as F comes out 18 to 30 C too cold, one in F read as C 28 C or more too warm.
No weather stays that far from its season for weeks, and no summer day is that cold.
"""

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import RecordError

_JUMP_C = 18.0
_JUMP_F_AS_C = 25.0
_JUMP_DAYS = 15
_MONTH_OFF_C = 11.0
_MONTHS_IN_A_ROW = 3
_WARM_SEASON_C = 18.0
_ODD_DAY_C = 22.0
_CLOSE_C = 7.0
_MOST_ODD_DAYS = 2


def drop_other_unit(
    dates: NDArray[np.datetime64],
    tmin_c: NDArray[np.float64],
    tmax_c: NDArray[np.float64],
    stated_f: bool,
) -> int:
    """Look for a second unit in sorted days; `stated_f` says that they were read as degrees F.

    One or two odd days are set to NaN in place, and the number of values dropped is returned.
    RecordError, naming the first date at fault, when there are more or the unit changes for good.
    """
    days = np.flatnonzero(~np.isnan(tmax_c))
    if days.size < 2 * _JUMP_DAYS:
        return 0
    known, tmax = dates[days], tmax_c[days]
    at = _jump(known, tmax, stated_f)
    if at is None:
        at = _odd_season(known, tmax)
    odd = _odd_days(tmax) if stated_f else np.empty(0, dtype=np.int64)
    if at is None and odd.size > _MOST_ODD_DAYS:
        at = int(odd[0])
    if at is not None:
        raise RecordError(
            f"The temperatures change their unit at or near {known[at]}: from there the maxima lie "
            "far off the season; give a file that is in one unit throughout."
        )
    dropped = 0
    for values in (tmin_c, tmax_c):
        dropped += int(np.count_nonzero(~np.isnan(values[days[odd]])))
        values[days[odd]] = np.nan
    return dropped


def _jump(dates: NDArray[np.datetime64], tmax: NDArray[np.float64], stated_f: bool) -> int | None:
    """First day at which the 15 days before and after fit only when their units differ."""
    windows = np.lib.stride_tricks.sliding_window_view(tmax, _JUMP_DAYS)
    median = np.median(windows, axis=1)
    before, after = median[:-_JUMP_DAYS], median[_JUMP_DAYS:]
    cold, warm = np.minimum(before, after), np.maximum(before, after)
    span = (dates[2 * _JUMP_DAYS - 1 :] - dates[: before.size]).astype(np.int64)
    fits = np.abs(cold * 1.8 + 32.0 - warm) < _CLOSE_C
    # Great Plains winters swing by 20 C within weeks; only warm weather can tell C read as F.
    far = (warm >= _WARM_SEASON_C) & (warm - cold > (_JUMP_C if stated_f else _JUMP_F_AS_C))
    found = np.flatnonzero(fits & far & (span <= 2 * _JUMP_DAYS + _JUMP_DAYS // 2))
    return int(found[0]) + _JUMP_DAYS if found.size else None


def _odd_season(dates: NDArray[np.datetime64], tmax: NDArray[np.float64]) -> int | None:
    """First of three months running whose mean is far off the same months of other years."""
    month = dates.astype("datetime64[M]").astype(np.int64)
    months, begin, count = np.unique(month, return_index=True, return_counts=True)
    mean = np.add.reduceat(tmax, begin) / count
    off = np.zeros(months.size)
    for name in range(12):
        same = (months % 12 == name) & (count >= _JUMP_DAYS)
        if np.count_nonzero(same) >= 2:
            off[same] = mean[same] - np.median(mean[same])
    for sign in (1, -1):
        far = sign * off > _MONTH_OFF_C
        run = 0
        for index, is_far in enumerate(far):
            run = run + 1 if is_far else 0
            if run == _MONTHS_IN_A_ROW:
                return int(begin[index - _MONTHS_IN_A_ROW + 1])
    return None


def _odd_days(tmax: NDArray[np.float64]) -> NDArray[np.int64]:
    """Warm-season days that fit their season only when C were taken for F."""
    half = _JUMP_DAYS
    padded = np.pad(tmax, half, mode="edge")
    usual = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    as_written = tmax * 1.8 + 32.0
    odd = (
        (usual >= _WARM_SEASON_C)
        & (usual - tmax > _ODD_DAY_C)
        & (np.abs(as_written - usual) < _CLOSE_C)
    )
    return np.flatnonzero(odd)
