"""Sentences for numbers that cannot be true."""

import math

import numpy as np
import pytest
from refused import assert_bounds, refusal

from lifecycle.agronomy.bounds import day_extremes, number_within, within


def test_both_bounds_belong():
    assert_bounds(
        lambda x: number_within("The depth", x, 1, 2000, "mm"), "The depth", 1, 2000, "mm"
    )


def test_a_large_number_is_written_out():
    assert refusal(lambda: number_within("The light", 1e6, 0, 3000)) == (
        "The light is 1,000,000; give a value from 0 to 3,000."
    )


def test_the_first_value_at_fault_is_named():
    assert "Rain is -2;" in refusal(lambda: within("Rain", [[1, 3], [-2, -5]], 0, 10))


def test_missing_values_pass_only_where_gaps_may_be():
    assert np.isnan(within("Rain", [1, np.nan], 0, 10, gaps=True)[1])
    assert "Rain is missing;" in refusal(lambda: within("Rain", [1, np.nan], 0, 10))
    assert "Rain is 11;" in refusal(lambda: within("Rain", [np.nan, 11], 0, 10, gaps=True))


def test_values_come_back_as_numbers():
    assert within("Rain", [1, 2], 0, 10).dtype == np.float64
    assert isinstance(number_within("Rain", 1, 0, 10), float)


def test_extremes_may_be_equal_or_missing():
    low, high = day_extremes([5, np.nan, 1], [5, 3, np.nan])
    assert (low[0], high[0]) == (5, 5)
    assert np.isnan(low[1])
    assert np.isnan(high[2])


def test_swapped_extremes_are_refused():
    assert refusal(lambda: day_extremes([1, 9], [2, 8.5])) == (
        "The maximum 8.5 is below the minimum 9 on day 2; check whether the two were swapped."
    )


def test_extremes_of_unequal_length_are_refused():
    assert refusal(lambda: day_extremes([1, 2], [3])) == (
        "There are 2 minima and 1 maxima; give one of each for every day."
    )


@pytest.mark.parametrize(("low", "high"), [(-math.inf, 1), (1, math.inf)])
def test_infinite_extremes_are_refused(low, high):
    assert refusal(lambda: day_extremes([low], [high])) == (
        "A temperature is infinite; give a number, or none where it is missing."
    )
