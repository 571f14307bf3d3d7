"""Zone, its window and which years count."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_records import cosine_year, days, record, with_minima

from lifecycle.agronomy.hardiness import (
    annual_minima_f,
    half_zone,
    half_zone_edges_f,
    half_zone_number,
    near_edge,
    years_status,
    zone_estimate,
)

TEMPERATURES = st.floats(-80, 90, allow_nan=False)


@given(TEMPERATURES, TEMPERATURES)
def test_a_warmer_mean_never_has_a_colder_zone(one, other):
    low, high = sorted((one, other))
    assert half_zone_number(low) <= half_zone_number(high)


@given(st.floats(-60, 69.99))
def test_the_mean_lies_in_its_zone(mean_f):
    low, high = half_zone_edges_f(half_zone(mean_f))
    assert low - 1e-6 <= mean_f < high


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_no_zone_without_a_number(bad):
    with pytest.raises(ValueError, match="finite"):
        half_zone(bad)


def test_an_unknown_half_zone_has_no_edges():
    with pytest.raises(ValueError, match="1a to 13b"):
        half_zone_edges_f("14a")


@pytest.mark.parametrize(
    ("mean_f", "near"), [(-20, True), (-19, True), (-18.9, False), (-17.5, False), (-15.9, True)]
)
def test_near_an_edge(mean_f, near):
    assert near_edge(mean_f) is near


def test_status():
    assert [years_status(n) for n in (9, 10, 19, 20)] == [
        "indicative",
        "provisional",
        "provisional",
        "firm",
    ]


def test_three_days_are_no_winter():
    estimate = zone_estimate(record(days("2001-01-01", "2001-01-03"), [-5, -6, -7]), "north")
    assert (estimate.half_zone, estimate.years, estimate.status) == (None, 0, "indicative")
    assert estimate.zone_range() is None


def test_a_winter_counts_up_to_five_missing_days():
    whole = cosine_year("2000-07-01", "2001-06-30")
    gaps = {f"2001-01-{day:02d}": np.nan for day in range(10, 15)}
    assert zone_estimate(with_minima(whole, gaps), "north").years == 1
    gaps["2000-12-03"] = np.nan
    assert zone_estimate(with_minima(whole, gaps), "north").years == 0


def test_a_winter_needs_all_three_months():
    # January to June holds the coldest day but not the whole winter.
    assert zone_estimate(cosine_year("2001-01-01", "2001-06-30"), "north").years == 0


def test_a_season_takes_one_minimum_from_each_winter_and_a_calendar_year_may_take_two():
    mild = with_minima(cosine_year("2000-07-01", "2003-06-30"), {"2001-12-31": -30.0})
    mild = with_minima(mild, {"2002-01-01": -30.0})
    season = annual_minima_f(mild, "north", "season")
    assert [year for year, low in season if low == pytest.approx(-22)] == [2001]
    calendar = annual_minima_f(mild, "north", "calendar")
    assert [year for year, low in calendar if low == pytest.approx(-22)] == [2001, 2002]


def test_the_southern_season_is_the_calendar_year():
    south = cosine_year(south=True)
    season, calendar = (annual_minima_f(south, "south", w) for w in ("season", "calendar"))
    assert season == calendar
    assert len(season) == 30


def test_the_southern_winter_is_june_to_august():
    year = cosine_year("2001-01-01", "2001-12-31", south=True)
    summer = {f"2001-01-{day:02d}": np.nan for day in range(1, 21)}
    assert zone_estimate(with_minima(year, summer), "south").years == 1
    winter = {f"2001-07-{day:02d}": np.nan for day in range(1, 7)}
    assert zone_estimate(with_minima(year, winter), "south").years == 0


def test_a_calendar_year_needs_360_days():
    year = cosine_year("2001-01-01", "2001-12-26")
    assert zone_estimate(year, "north", "calendar").years == 1
    shorter = cosine_year("2001-01-01", "2001-12-25")
    assert zone_estimate(shorter, "north", "calendar").years == 0


@given(st.integers(0, 10_956), st.floats(-60, 5), st.sampled_from(["season", "calendar"]))
def test_a_colder_night_never_makes_the_zone_warmer(index, low, window):
    before = cosine_year()
    day = str(before.dates[index])
    after = with_minima(before, {day: min(low, float(before.tmin_c[index]))})
    warm, cold = (zone_estimate(each, "north", window) for each in (before, after))
    assert cold.mean_extreme_min_f <= warm.mean_extreme_min_f
    assert half_zone_number(cold.mean_extreme_min_f) <= half_zone_number(warm.mean_extreme_min_f)


def test_standard_error():
    estimate = zone_estimate(cosine_year(), "north", "calendar")
    values = np.array([low for _, low in estimate.annual_minima_f])
    assert estimate.standard_error_f == pytest.approx(values.std(ddof=1) / 30**0.5)
    low, high = estimate.zone_range()
    assert half_zone_edges_f(low) <= half_zone_edges_f(high)
