"""The smoothed curve, the warm stretch and the risk date."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_records import cosine_year, days, record, with_minima

from lifecycle.agronomy.day_of_year import day_from_month_day
from lifecycle.agronomy.freeze import freeze_grid
from lifecycle.agronomy.warm_nights import (
    risk_date,
    smoothed_minima,
    warm_nights,
    warm_stretch,
)


def test_the_curve_is_the_circular_mean_of_fifteen_days():
    dates = days("2001-01-01", "2001-12-31")
    values = np.zeros(365)
    values[0] = 15.0
    curve = smoothed_minima(record(dates, values))
    assert np.flatnonzero(curve > 0.5).tolist() == [*range(8), *range(358, 365)]
    assert curve[0] == pytest.approx(1.0)


def test_the_leap_day_is_pooled_with_28_february():
    dates = days("2004-01-01", "2004-12-31")
    values = np.where(dates == np.datetime64("2004-02-29"), 30.0, 0.0)
    assert smoothed_minima(record(dates, values))[58] == pytest.approx(1.0)


def test_a_curve_needs_days_all_round_the_year():
    source = record(days("2001-01-01", "2001-06-30"), np.full(181, 10.0))
    assert np.isnan(smoothed_minima(source)[200])
    nights = warm_nights(source, 55, "north")
    assert (nights.start, nights.end, nights.risk10, nights.years) == (None, None, None, 0)


@given(st.integers(0, 364), st.integers(1, 363))
def test_the_stretch_around_the_maximum(first, length):
    curve = np.zeros(365)
    warm = np.arange(first, first + length) % 365
    curve[warm] = 10.0
    curve[warm[length // 2]] = 11.0
    start, end = warm_stretch(curve, 5.0)
    assert day_from_month_day(start) - 1 == warm[0]
    assert day_from_month_day(end) - 1 == warm[-1]


def test_a_second_warm_stretch_does_not_count():
    curve = np.zeros(365)
    curve[100:110] = 10.0
    curve[200:210] = 12.0
    assert warm_stretch(curve, 5.0) == ("07-20", "07-29")


def test_never_and_all_year():
    curve = np.linspace(5, 10, 365)
    assert warm_stretch(curve, 11.0) == ("never", "never")
    assert warm_stretch(curve, 5.0) == ("all year", "all year")


def twenty_years(last_cold_days):
    """Warm nights but for one cold one a year, on the given day of May."""
    dates = days("2001-01-01", "2020-12-31")
    source = record(dates, np.full(dates.size, 20.0))
    changes = {f"{2001 + i}-05-{day:02d}": 5.0 for i, day in enumerate(last_cold_days)}
    return freeze_grid(with_minima(source, changes), "north")


def test_one_year_in_ten_may_be_colder_later():
    # Two of twenty years may have a colder night on or after the date: the third latest decides.
    grid = twenty_years(range(1, 21))
    assert risk_date(grid, 55, "north") == ("05-19", 20)


def test_no_cold_night_at_all_is_all_year():
    grid = twenty_years([])
    assert risk_date(grid, 55, "north") == ("all year", 20)


def test_cold_nights_up_to_midsummer_are_never():
    dates = days("2001-01-01", "2020-12-31")
    assert risk_date(
        freeze_grid(record(dates, np.full(dates.size, 12.0)), "north"), 55, "north"
    ) == (
        "never",
        20,
    )


def test_the_south_is_shifted_by_half_a_year():
    north = warm_nights(cosine_year(), 50, "north")
    south = warm_nights(cosine_year(south=True), 50, "south")
    for name in ("start", "end", "risk10"):
        here, there = (day_from_month_day(getattr(each, name)) for each in (north, south))
        assert abs((there - here) % 365 - 182) <= 6


@given(st.floats(0, 18), st.floats(0, 18))
def test_a_higher_limit_never_has_a_longer_stretch(one, other):
    curve = smoothed_minima(cosine_year("2001-01-01", "2005-12-31"))
    low, high = sorted((one, other))
    lengths = []
    for limit in (low, high):
        start, end = warm_stretch(curve, limit)
        if start in ("never", "all year"):
            lengths.append(0 if start == "never" else 365)
        else:
            lengths.append((day_from_month_day(end) - day_from_month_day(start)) % 365 + 1)
    assert lengths[1] <= lengths[0]
