"""The bias and spread of forecasts, learned from pairs."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.forecast_errors import (
    LEAST_SD_C,
    PAIRS_NEEDED,
    ForecastError,
    known_error,
    learn,
)


def test_thirty_pairs_are_needed():
    told = np.arange(29.0)
    assert learn(told, told - 1) is None
    assert learn(np.arange(30.0), np.arange(30.0) - 1).pairs == PAIRS_NEEDED == 30


def test_bias_and_spread_by_hand():
    happened = np.zeros(30)
    told = np.where(np.arange(30) % 2 == 0, 3.0, -1.0)
    error = learn(told, happened)
    assert error.bias_c == pytest.approx(1.0)
    assert error.sd_c == pytest.approx(2 * math.sqrt(30 / 29))
    assert (error.pairs, error.df) == (30, 29)
    assert error.spread_c == pytest.approx(error.sd_c * math.sqrt((1 + 1 / 30) * 29 / 27))


def test_a_known_spread_is_not_widened():
    assert known_error(2.1) == ForecastError(0.0, 2.1)
    assert known_error(2.1, 0.5).spread_c == 2.1


def test_missing_nights_are_left_out():
    told = np.full(32, 2.0)
    happened = np.full(32, 1.0)
    told[0], happened[1] = np.nan, np.nan
    assert learn(told, happened).pairs == 30
    told[2] = np.nan
    assert learn(told, happened) is None


def test_a_pair_over_twenty_apart_is_a_typing_error():
    told, happened = np.tile([1.0, -1.0], 16), np.zeros(32)
    told[0], told[1] = 20.1, -20.1
    error = learn(told, happened)
    assert (error.pairs, error.bias_c) == (30, 0.0)
    told[0], told[1] = 20.0, -20.0
    assert learn(told, happened).pairs == 32
    told[:3] = 28.0
    assert learn(told, happened) is None


def test_a_spread_too_small_to_be_true_is_not_believed():
    assert learn(np.ones(30), np.ones(30)).sd_c == LEAST_SD_C == 0.3


def test_bounds():
    assert_bounds(lambda value: known_error(value), "The spread", 0.3, 20, "C")
    assert_bounds(lambda value: known_error(2, value), "The bias", -20, 20, "C")
    assert "is 61; give a value from -95 to 60 C." in refusal(lambda: learn([61.0], [0.0]))
    assert "A low is -96" in refusal(lambda: learn([0.0], [-96.0]))
    assert refusal(lambda: learn([1.0, 2.0], [1.0])).startswith("There are 2 forecasts and 1 lows")
    assert "2 forecasts" in refusal(lambda: learn([[1.0, 2.0]], [[1.0, 2.0]]))


@given(st.floats(-5, 5), st.floats(0.5, 4), st.integers(0, 10**6))
def test_what_was_put_in_is_found_again(bias, spread, seed):
    happened = np.random.default_rng(seed).uniform(-10, 15, 400)
    told = happened + bias + np.random.default_rng(seed + 1).normal(0, spread, 400)
    error = learn(told, happened)
    assert abs(error.bias_c - bias) < 6 * spread / 20
    assert 0.75 * spread < error.sd_c < 1.3 * spread
    assert error.spread_c > error.sd_c
