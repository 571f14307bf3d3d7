"""Hours below a limit, and hourly temperatures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.hourly import (
    hourly_temperatures,
    hours_below,
    hours_below_hourly,
    linvill,
)

DAY = ((10.0, 25.0, 9.0), 6.0, 18.0, 6.0)


@pytest.mark.parametrize(
    ("tmin", "tmax", "threshold", "expected"),
    [
        (40, 60, 50, 12),
        (40, 80, 50, 8),
        (20, 60, 50, 16),
        (50, 60, 50, 0),
        (40, 50, 50, 24),
        (50, 50, 50, 0),
        (49, 49, 50, 24),
        (51, 51, 50, 0),
    ],
)
def test_hours_below(tmin, tmax, threshold, expected):
    assert hours_below(tmin, tmax, threshold) == pytest.approx(expected)


def test_hours_below_of_a_missing_value_are_unknown():
    found = hours_below([np.nan, 40, 40], [60, np.nan, 60], 50)
    assert np.isnan(found).tolist() == [True, True, False]


def test_hours_below_refuses_swapped_extremes():
    assert "below the minimum" in refusal(lambda: hours_below([10], [9], 5))


@given(st.floats(-30, 40), st.floats(0, 40), st.floats(-40, 60))
def test_hours_below_and_above_make_a_day(low, width, threshold):
    below = float(hours_below(low, low + width, threshold))
    # Above a limit is below it on the day turned upside down.
    above = float(hours_below(-low - width, -low, -threshold))
    assert 0 <= below <= 24
    if width > 0.01 and low != threshold != low + width:
        assert below + above == pytest.approx(24)


def test_linvill_by_its_own_landmarks():
    curve = linvill([6, 14, 18, 30], *DAY)
    assert curve[[0, 1, 3]] == pytest.approx([10, 25, 9])
    # Sunset: 12 of the 16 hours of the sine have gone.
    assert curve[2] == pytest.approx(10 + 15 * np.sin(np.pi * 12 / 16))


def test_linvill_falls_fastest_after_sunset():
    evening = -np.diff(linvill(np.arange(18, 31), *DAY))
    assert np.all(evening > 0)
    assert np.all(np.diff(evening) < 0)


def test_linvill_knows_only_its_own_day_and_night():
    assert_bounds(lambda hour: linvill(hour, *DAY), "The hour", 6, 30, "h")


def test_hourly_temperatures_follow_the_curves():
    hours = hourly_temperatures([10, 9], [25, 20], [6, 7], [18, 18])
    assert hours.shape == (2, 24)
    assert hours[0, 6:] == pytest.approx(linvill(np.arange(6, 24), (10, 25, 9), 6, 18, 7))
    assert hours[1, :7] == pytest.approx(linvill(np.arange(24, 31), (10, 25, 9), 6, 18, 7))
    assert hours[1, 7:19] == pytest.approx(linvill(np.arange(7, 19), (9, 20, 0), 7, 18, 0))


def test_each_night_leads_to_the_next_day():
    hours = hourly_temperatures([10, 9, 4], [25, 20, 15], [6, 7, 7.5], [18, 18, 17])
    assert hours[1, 19:] == pytest.approx(linvill(np.arange(19, 24), (9, 20, 4), 7, 18, 7.5))
    assert hours[2, :8] == pytest.approx(linvill(np.arange(24, 32), (9, 20, 4), 7, 18, 7.5))


def test_hours_outside_the_record_are_missing():
    hours = hourly_temperatures([10, 9], [25, 20], [6, 7], [18, 18])
    missing = np.isnan(hours)
    assert np.flatnonzero(missing[0]).tolist() == [0, 1, 2, 3, 4, 5]
    assert np.flatnonzero(missing[1]).tolist() == [19, 20, 21, 22, 23]


def test_a_sunrise_on_the_hour_begins_its_own_day():
    hours = hourly_temperatures([10, 9], [25, 20], [6, 7], [18, 18])
    assert (hours[0, 6], hours[1, 7]) == pytest.approx((10, 9))


def test_a_missing_minimum_leaves_the_night_before_it_open():
    hours = hourly_temperatures([10, np.nan, 8], [25, 20, 22], [6] * 3, [18] * 3)
    assert not np.isnan(hours[0, 6:19]).any()
    assert np.isnan(hours[0, 19:]).all()
    assert np.isnan(hours[1]).all()


def test_hourly_temperatures_refuse():
    def of(sunrise, sunset):
        return hourly_temperatures([10], [25], sunrise, sunset)

    assert refusal(lambda: of([6, 7], [18])) == "Give one sunrise and one sunset for every day."
    assert refusal(lambda: of([6], [18, 19])) == "Give one sunrise and one sunset for every day."
    assert refusal(lambda: of([-1], [18])) == (
        "The hour of sunrise is -1; give a value from 0 to 24 h."
    )
    assert refusal(lambda: of([6], [25])) == (
        "The hour of sunset is 25; give a value from 0 to 24 h."
    )
    assert of([0], [23.9]).shape == (1, 24)


@pytest.mark.parametrize(
    ("sunrise", "sunset", "next_sunrise"), [(6, 6, 6), (6, 5, 6), (0, 24, 0), (5, 24.5, 0.5)]
)
def test_linvill_refuses_a_sun_out_of_order(sunrise, sunset, next_sunrise):
    assert refusal(lambda: linvill(sunrise, DAY[0], sunrise, sunset, next_sunrise)) == (
        "Sunrise, sunset and the next sunrise do not follow one another; give hours of one day "
        "and the next."
    )


def test_hours_counted_among_hourly_values():
    assert hours_below_hourly([[1, 2, 3], [0, 0, 2]], 2).tolist() == [1, 2]
    assert np.isnan(hours_below_hourly([1, np.nan], 2))
