"""Last freeze of spring and first freeze of autumn, and the chance of one later or earlier.

A freeze day has Tmin at or below the threshold, and a date's risk is the chance of a freeze on or
after it in spring, on or before it in autumn (NOAA NCEI agricultural normals). Years without a
freeze enter as a mixed distribution (NCDC, Freeze/Frost Data, CLIM20-01): a date exists only while
the risk asked for is smaller than the share of years that freeze at all.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.day_of_year import DAYS_IN_YEAR, is_leap, month_day
from lifecycle.agronomy.hardiness import WHOLE_YEAR
from lifecycle.agronomy.year_grid import JANUARY, JULY, Hemisphere, YearGrid, year_grid

Half = Literal["spring", "autumn"]

THRESHOLDS_F = (36, 32, 28, 24)
DECILES = tuple(range(10, 100, 10))
#: Seasons needed before a median, and before a decile further out, means anything.
ENOUGH_FOR_MEDIAN, ENOUGH_FOR_TAILS = 10, 20
_SPLIT = {"north": 213, "south": 32}  # 1 August, 1 February
_GAP_REACH_DAYS = 7
_GAP_MARGIN_F = 10.0


@dataclass(frozen=True, slots=True)
class FreezeSide:
    """One half of the season: the share of seasons with a freeze, and `MM-DD` by risk in percent.

    A date is None where the risk is not smaller than the share of seasons that freeze.
    """

    share: float | None
    dates: dict[int, str | None]


@dataclass(frozen=True, slots=True)
class FreezeDates:
    """Freeze dates at one threshold over `years` valid seasons.

    `unknown_years` counts whole years left out because the freeze may lie in a gap.

    `season_days` holds plain quantiles of the freeze-free days between the two freezes, over the
    seasons that have both: the season is longer than `season_days[10]` in nine years of ten.
    """

    threshold_f: int
    years: int
    unknown_years: int
    spring: FreezeSide
    autumn: FreezeSide
    season_days: dict[int, float | None]

    def enough(self, percent: int) -> bool:
        """Whether there are seasons enough for this decile: 10 for the median, 20 for others."""
        return self.years >= (ENOUGH_FOR_MEDIAN if percent == 50 else ENOUGH_FOR_TAILS)


@dataclass(frozen=True, slots=True)
class FreezeSeasons:
    """Valid seasons: `last` and `first` freeze as days since the season began, 1 the first day.

    NaN stands for a half without a freeze. `first_day` is the day of the 365-day year on which a
    season begins; `unknown` counts whole years left out because the freeze may lie in a gap.
    """

    first_day: int
    years: NDArray[np.int64]
    last: NDArray[np.float64]
    first: NDArray[np.float64]
    unknown: int

    def freeze_free_days(self) -> NDArray[np.float64]:
        """Days between the last and the first freeze (first - last - 1), seasons with both.

        A 29 February between the two is a day like any other and counts.
        """
        february_28 = (59 - self.first_day) % DAYS_IN_YEAR + 1
        leap = is_leap(self.years + (self.first_day > 59))
        across = leap & (self.last < february_28) & (self.first > february_28)
        length = self.first - self.last - 1 + across
        return np.asarray(length[~np.isnan(length)], dtype=np.float64)


def freeze_grid(record: DailyRecord, hemisphere: Hemisphere) -> YearGrid:
    """Minima in degrees F by season: January to December north, July to June south."""
    first_day = JANUARY if hemisphere == "north" else JULY
    return year_grid(record.dates, record.minima_f(), first_day)


def freeze_seasons(
    grid: YearGrid, threshold_f: float, hemisphere: Hemisphere, slack_f: float = 1e-6
) -> FreezeSeasons:
    """Last and first freeze of each valid season of a `freeze_grid`.

    Spring ends on 1 August (north) or 1 February (south). A season is valid with at least 360 of
    its days, unless a missing night may have been the freeze: one after the last freeze seen in
    spring, or before the first in autumn, with a night within 10 F of the threshold in the week
    before or after it.
    """
    split = grid.column(_SPLIT[hemisphere])
    whole = grid.counts >= WHOLE_YEAR
    values = grid.values[whole]
    frozen = values <= threshold_f + slack_f
    last = _last_true(frozen[:, :split])
    first = _first_true(frozen[:, split:]) + split
    known = np.array(
        [
            _is_known(row, threshold_f, split, a, b)
            for row, a, b in zip(values, last, first, strict=True)
        ],
        dtype=bool,
    )
    return FreezeSeasons(
        first_day=grid.first_day,
        years=grid.years[whole][known],
        last=last[known],
        first=first[known],
        unknown=int(np.count_nonzero(~known)),
    )


def _last_true(flags: NDArray[np.bool_]) -> NDArray[np.float64]:
    position = flags.shape[1] - np.argmax(flags[:, ::-1], axis=1)
    return np.where(flags.any(axis=1), position, np.nan)


def _first_true(flags: NDArray[np.bool_]) -> NDArray[np.float64]:
    return np.where(flags.any(axis=1), np.argmax(flags, axis=1) + 1, np.nan)


def _is_known(
    row: NDArray[np.float64], threshold_f: float, split: int, last: float, first: float
) -> bool:
    """Whether no missing night between the two freezes could have been a freeze itself."""
    begin = 0 if math.isnan(last) else int(last)
    end = DAYS_IN_YEAR if math.isnan(first) else int(first)
    for gap in np.flatnonzero(np.isnan(row[begin:end])) + begin:
        # Only nights on the gap's own side of the split can tell about its freeze.
        low, high = (0, split) if gap < split else (split, DAYS_IN_YEAR)
        near = row[max(low, gap - _GAP_REACH_DAYS) : min(high, gap + _GAP_REACH_DAYS + 1)]
        if np.all(np.isnan(near)) or np.nanmin(near) <= threshold_f + _GAP_MARGIN_F:
            return False
    return True


def risk_position(
    positions: NDArray[np.float64], share: float, risk: float, half: Half
) -> float | None:
    """Position (day number, unrounded) at which the risk of a freeze is `risk`.

    `positions` are the freezes of the seasons that had one, `share` those seasons' share of all.
    Type-7 quantile at 1 - risk/share in spring and risk/share in autumn; None while
    risk >= share. ValueError when `risk` is not between 0 and 1.
    """
    if not 0 < risk < 1:
        raise ValueError(f"A risk lies between 0 and 1, not at {risk}.")
    if positions.size == 0 or risk >= share:
        return None
    chance = 1 - risk / share if half == "spring" else risk / share
    return float(np.quantile(positions, chance))


def whole_day(position: float, half: Half) -> int:
    """Nearest day; a half day goes the careful way: later in spring, earlier in autumn."""
    position = round(position, 6)
    return math.floor(position + 0.5) if half == "spring" else math.ceil(position - 0.5)


def freeze_dates(
    record: DailyRecord, threshold_f: int, hemisphere: Hemisphere, grid: YearGrid | None = None
) -> FreezeDates:
    """Shares, dates and season lengths at one threshold; `grid` spares laying it out again."""
    if grid is None:
        grid = freeze_grid(record, hemisphere)
    seasons = freeze_seasons(grid, threshold_f, hemisphere, record.slack_f())
    lengths = seasons.freeze_free_days()
    return FreezeDates(
        threshold_f=threshold_f,
        years=int(seasons.years.size),
        unknown_years=seasons.unknown,
        spring=_side(seasons.last, seasons.first_day, "spring"),
        autumn=_side(seasons.first, seasons.first_day, "autumn"),
        season_days={
            p: float(np.quantile(lengths, p / 100)) if lengths.size else None for p in DECILES
        },
    )


def _side(positions: NDArray[np.float64], first_day: int, half: Half) -> FreezeSide:
    if positions.size == 0:
        return FreezeSide(None, dict.fromkeys(DECILES))
    freezes = positions[~np.isnan(positions)]
    share = freezes.size / positions.size
    dates: dict[int, str | None] = {}
    for percent in DECILES:
        position = risk_position(freezes, share, percent / 100, half)
        dates[percent] = None
        if position is not None:
            day = (first_day - 2 + whole_day(position, half)) % DAYS_IN_YEAR + 1
            dates[percent] = month_day(day)
    return FreezeSide(share, dates)
