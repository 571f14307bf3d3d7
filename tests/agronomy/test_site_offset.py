"""The difference between a site's nights and the station's, its spread, and the chance of frost."""

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.site_offset import (
    LAPSE_C_PER_M,
    OffsetMethod,
    Prediction,
    fit_offset,
    frost_probability,
    height_offset,
    nights_short,
    theil_sen_slope,
)

SPAN = (date(2026, 3, 1), date(2026, 3, 30))
degrees = st.floats(-20, 25)


def made_up(nights, slope=1.0, intercept=0.0, noise=1.0):
    rng = np.random.default_rng(11)
    station = rng.uniform(-8, 12, nights)
    return intercept + slope * station + rng.normal(0, noise, nights), station


def test_names():
    assert OffsetMethod.LINE == "a line through paired nights"
    assert OffsetMethod.MEAN == "the mean difference of paired nights"


def test_seven_nights_give_a_mean_by_hand():
    station = [0, 1, 2, 3, 4, 5, 6]
    found = fit_offset([2, 3, 4, 5, 6, 7, 9], station, *SPAN)
    # Differences: six of 2 and a 3, mean 15/7, squares about it 6/7.
    assert found.method is OffsetMethod.MEAN
    assert (found.nights, found.slope, found.df, found.robust_slope) == (7, 1, 6, None)
    assert (found.first, found.last) == SPAN
    assert found.intercept == pytest.approx(15 / 7)
    assert found.residual_sd == pytest.approx(math.sqrt(1 / 7))
    # Student's t for 6 degrees of freedom: 1.94318 at 90 %, 2.44691 at 95 %.
    interval = found.mean_interval()
    half = 1.94318 * math.sqrt(1 / 7) / math.sqrt(7)
    assert interval.low == pytest.approx(15 / 7 - half, abs=1e-5)
    assert interval.high == pytest.approx(15 / 7 + half, abs=1e-5)
    night = found.predict(3.5)
    assert night.expected_c == pytest.approx(3.5 + 15 / 7)
    assert night.sd == pytest.approx(math.sqrt(1 / 7 * 8 / 7))
    assert night.df == 6
    assert night.interval().high == pytest.approx(night.expected_c + 1.94318 * night.sd, abs=1e-4)
    assert night.interval(0.95).low == pytest.approx(
        night.expected_c - 2.44691 * night.sd, abs=1e-4
    )


def test_a_line_by_hand():
    # Thirty nights: station 0 and 2 in turn, site one above or below 1 + 3 x station by turns.
    station = np.tile([0.0, 2.0], 15)
    above = np.repeat([1.0, -1.0], 2)
    site = 1 + 3 * station + np.append(np.tile(above, 7), [0.0, 0.0])
    found = fit_offset(site, station, *SPAN)
    assert found.method is OffsetMethod.LINE
    assert (found.slope, found.intercept) == pytest.approx((3, 1))
    assert found.df == 28
    assert found.residual_sd == pytest.approx(1.0)
    assert found.robust_slope == pytest.approx(3)
    # Squares of the station about its mean 1: 30.
    assert found.predict(4).sd == pytest.approx(math.sqrt(1 + 1 / 30 + 9 / 30))
    assert found.predict(4).expected_c == pytest.approx(13)
    interval = found.mean_interval(0.9)
    assert (interval.low + interval.high) / 2 == pytest.approx(3)
    assert interval.high - interval.low == pytest.approx(2 * 1.70113 / math.sqrt(30), abs=1e-5)


@pytest.mark.parametrize(
    ("nights", "method"), [(7, "mean"), (29, "mean"), (30, "line"), (31, "line")]
)
def test_nights_decide_the_method(nights, method):
    found = fit_offset(*made_up(nights), *SPAN)
    assert found.method is OffsetMethod[method.upper()]
    assert found.nights == nights


def test_too_few_nights():
    assert refusal(lambda: fit_offset(*made_up(5), *SPAN)) == (
        "An offset needs 7 paired nights and there are 5; pair 2 more."
    )
    assert [nights_short(nights) for nights in (0, 6, 7, 40)] == [7, 1, 0, 0]


def test_nights_that_one_of_them_missed_are_left_out():
    site, station = made_up(9)
    site[2] = np.nan
    station[5] = np.nan
    found = fit_offset(site, station, *SPAN)
    assert found.nights == 7
    kept = [0, 1, 3, 4, 6, 7, 8]
    assert found == fit_offset(site[kept], station[kept], *SPAN)


def test_beyond_the_record():
    found = fit_offset([1, 2, 3, 4, 5, 6, 7], [0, 1, 2, 3, 4, 5, 6], *SPAN)
    assert [found.predict(c).beyond_record for c in (-0.1, 0, 6, 6.1)] == [True, False, False, True]


def test_what_is_refused():
    site, station = made_up(8)
    assert refusal(lambda: fit_offset(site[:7], station, *SPAN)) == (
        "There are 7 minima at the site and 8 at the station; give one of each for every night."
    )
    assert "give one of each" in refusal(lambda: fit_offset([site], [station], *SPAN))
    assert refusal(lambda: fit_offset(site, station, *SPAN[::-1])) == (
        "The nights cannot run from 2026-03-30 to 2026-03-01; give the earlier first."
    )
    assert fit_offset(site, station, SPAN[0], SPAN[0]).nights == 8
    assert refusal(lambda: fit_offset(np.arange(30), np.full(30, 4.4), *SPAN)) == (
        "The station has the same minimum on every paired night; check its record, or give nights "
        "that differ."
    )
    # Few nights need no slope, so a station that never changed does no harm.
    assert fit_offset(np.arange(29), np.full(29, 4.4), *SPAN).slope == 1
    # Squares about the mean that add to a millionth are no change.
    hair = np.append(np.full(29, 4.4), 4.401)
    assert "the same minimum" in refusal(lambda: fit_offset(np.arange(30), hair, *SPAN))
    hair[-1] = 4.40103
    assert fit_offset(np.arange(30), hair, *SPAN).nights == 30


def test_minima_that_no_air_has():
    site, station = [list(minima) for minima in made_up(8)]
    for what, nights in (("A minimum at the site", site), ("A minimum at the station", station)):
        for wrong in (-95.1, 60.1):
            right, nights[3] = nights[3], wrong
            assert refusal(lambda: fit_offset(site, station, *SPAN)) == (
                f"{what} is {wrong}; give a value from -95 to 60 C."
            )
            nights[3] = -95 if wrong < 0 else 60
            assert fit_offset(site, station, *SPAN).nights == 8
            nights[3] = right


def test_bounds_of_a_prediction():
    site, station = made_up(8)
    found = fit_offset(site, station, *SPAN)
    assert_bounds(found.predict, "The station's minimum", -95, 60, "C")
    assert_bounds(found.mean_interval, "The confidence", 0.5, 0.999)


def test_odd_nights_move_the_line_and_not_the_robust_slope():
    site, station = made_up(40, slope=0.8, intercept=2, noise=0.01)
    order = np.argsort(station)
    site[order[:3]] += 15
    found = fit_offset(site, station, *SPAN)
    assert found.robust_slope == pytest.approx(0.8, abs=0.03)
    assert found.slope < 0.6


def test_robust_slope_by_hand():
    # Every pair of nights but the one whose two have the same station.
    site = np.array([0.0, 1.0, 3.0, 12.0])
    station = np.array([0.0, 1.0, 1.0, 4.0])
    slopes = [1, 3, 3, 11 / 3, 3]
    assert theil_sen_slope(site, station) == pytest.approx(np.median(slopes))


def test_robust_slope_of_many_nights():
    station = np.arange(5000.0)
    assert theil_sen_slope(2 * station, station) == 2
    # A thousand spread evenly over the nights include the first and the last.
    bent = np.where(np.arange(5000) < 2500, 0.0, 1.0)
    assert 0 < theil_sen_slope(np.arange(5000.0), np.arange(5000.0) + bent) <= 1


@given(st.lists(st.tuples(degrees, degrees), min_size=7, max_size=29), degrees)
def test_a_mean_offset_shifts_with_the_station(nights, station_c):
    site, station = np.array(nights).T
    found = fit_offset(site, station, *SPAN)
    assert found.predict(station_c).expected_c - station_c == pytest.approx(
        np.mean(site - station), abs=1e-9
    )


@settings(max_examples=30)
@given(st.floats(-15, 15), st.floats(-15, 15), st.floats(0.1, 4), st.integers(1, 60))
def test_a_colder_night_is_likelier_to_freeze(limit, expected, sd, df):
    here = frost_probability(limit, Prediction(expected, sd, df, False))
    colder = frost_probability(limit, Prediction(expected - 1, sd, df, False))
    assert 0 <= here <= colder <= 1
    mirrored = frost_probability(2 * expected - limit, Prediction(expected, sd, df, False))
    assert here + mirrored == pytest.approx(1)


def test_chance_of_frost_by_hand():
    # Student's t with 6 degrees of freedom lies below -1.94318 in 5 % of cases.
    night = Prediction(3.0, 0.5, 6, False)
    assert frost_probability(3.0 - 1.94318 * 0.5, night) == pytest.approx(0.05, abs=1e-5)
    assert frost_probability(3.0, night) == pytest.approx(0.5)
    assert_bounds(lambda x: frost_probability(x, night), "The threshold", -95, 60, "C")


def test_chance_of_frost_without_spread():
    exact = fit_offset([1, 2, 3, 4, 5, 6, 7], [0, 1, 2, 3, 4, 5, 6], *SPAN).predict(-1)
    assert exact.sd == 0
    assert frost_probability(0, exact) == 1
    assert frost_probability(-0.001, exact) == 0


def test_height():
    assert LAPSE_C_PER_M == -0.0065
    assert height_offset(1200, 200) == pytest.approx(-6.5)
    assert height_offset(100, 300) == pytest.approx(1.3)
    assert_bounds(lambda x: height_offset(x, 0), "The site's height", -430, 9000, "m")
    assert_bounds(lambda x: height_offset(0, x), "The station's height", -430, 9000, "m")
