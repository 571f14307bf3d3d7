"""Our answers in the shape of xclim's, and the comparison of the two."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.freeze import freeze_grid, freeze_seasons
from lifecycle.agronomy.hardiness import half_zone_number, zone_estimate
from lifecycle.agronomy.warm_nights import smoothed_minima
from lifecycle.agronomy.year_grid import JANUARY, year_grid


def on_365_days(days: Sequence[float | None], first_year: int) -> list[float | None]:
    """Days of real years on the 365-day year: after February a leap year's run one ahead."""
    shifted = []
    for year, day in enumerate(days, start=first_year):
        leap = year % 4 == 0
        shifted.append(None if day is None or np.isnan(day) else day - (leap and day > 59))
    return shifted


def own_zone_number(record: DailyRecord, years: int) -> int:
    """Our half-zone number of the last `years` calendar years."""
    last = int(record.dates[-1].astype("datetime64[Y]").astype(int)) + 1970
    part = record.between(last - years + 1, last)
    mean = zone_estimate(part, "north", "calendar").mean_extreme_min_f
    assert mean is not None
    return half_zone_number(mean)


def assert_same(record: DailyRecord, expected: Mapping[str, Any]) -> None:
    """Zone numbers, freeze days of every year and the smoothed curve agree with xclim's."""
    for years, number in expected["half_zone_numbers"].items():
        assert own_zone_number(record, int(years)) == number
    first_year = int(year_grid(record.dates, record.tmin_c, JANUARY).years[0])
    for threshold, last in expected["last_freeze"].items():
        grid = freeze_grid(record, "north")
        found = freeze_seasons(grid, int(threshold), "north", record.slack_f())
        pairs = [(found.last, last), (found.first, expected["first_freeze"][threshold])]
        for own, theirs in pairs:
            known = [None if np.isnan(day) else float(day) for day in own]
            assert known == on_365_days(theirs, first_year)
    # Apart from late February, where xclim drops the leap day and we pool it with the 28th.
    own_curve = smoothed_minima(record)
    difference = np.abs(own_curve - np.array(expected["curve_c"]))
    assert difference.max() < 0.1
    assert np.delete(difference, np.arange(51, 66)).max() < 1e-5
