"""Calls counted, expenses, and the rule that misses few enough."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.cost_loss import (
    MISSES,
    RULES,
    Calls,
    MissPoint,
    always_expense,
    calls,
    curve,
    miss_curve,
    never_expense,
    ratio_that_misses,
    relative_value,
    should_act,
)

SAID = np.array([0.0, 0.04, 0.05, 0.3, 0.9, 1.0])
CAME = np.array([False, True, False, True, False, True])


def test_acting_pays_from_the_ratio_on():
    assert should_act(0.05, 0.05)
    assert not should_act(0.0499, 0.05)
    assert_bounds(lambda chance: should_act(chance, 0.5), "The chance", 0, 1)
    assert_bounds(lambda ratio: should_act(0.5, ratio), "Cost over loss", 0, 1)


def test_calls_by_hand():
    counts = calls(SAID, CAME, 0.05)
    assert counts == Calls(caught=2, missed=1, called_for_nothing=2, left_in_peace=1)
    assert (counts.called, counts.came, counts.nights) == (4, 3, 6)
    assert counts.expense(0.05) == pytest.approx(1.2)
    assert always_expense(counts, 0.05) == pytest.approx(0.3)
    assert never_expense(counts) == 3
    # Knowing the climate costs 0.3 (always), knowing each night 0.15.
    assert relative_value(counts, 0.05) == pytest.approx((0.3 - 1.2) / (0.3 - 0.15))


def test_nothing_between_climate_and_certainty_is_worth_nothing_sure():
    assert relative_value(Calls(0, 0, 2, 8), 0.1) is None
    assert relative_value(Calls(4, 0, 0, 0), 0.1) is None


def test_a_curve_by_hand():
    points = curve(SAID, CAME, years=2, rules=(2, 20))
    assert [point.one_in for point in points] == [2, 20]
    assert points[0].caught_share == pytest.approx(1 / 3)
    assert (points[0].missed_a_year, points[0].calls_a_year) == (1.0, 1.0)
    assert points[0].for_nothing_a_year == 0.5
    assert points[1].caught_share == pytest.approx(2 / 3)
    assert (points[1].calls_a_year, points[1].for_nothing_a_year) == (2.0, 1.0)
    assert RULES == (5, 10, 20, 50, 100)
    assert [point.one_in for point in curve(SAID, CAME, 1)] == list(RULES)
    assert curve(SAID, np.zeros(6, bool), 1)[0].caught_share is None
    assert_bounds(lambda years: curve(SAID, CAME, years), "The number of years", 0.1, 1000)


def test_the_ratio_that_misses_few_enough():
    said = np.arange(1, 11) / 100
    came = np.ones(10, bool)
    # Of ten killing nights one may be missed: the lowest.
    assert ratio_that_misses(said, came, 10) == 0.02
    assert calls(said, came, 0.02).missed == 1
    assert ratio_that_misses(said, came, 11) == 0.01
    assert ratio_that_misses(said, came, 2) == 0.06
    assert ratio_that_misses(said, came, 1) == 0.10
    assert ratio_that_misses(said, np.zeros(10, bool), 10) is None


def test_what_missing_few_enough_costs_a_year():
    said = np.append(np.arange(1, 11) / 100, [0.015, 0.025, 0.5])
    came = np.arange(13) < 10
    points = miss_curve(said, came, years=2, misses=(2, 10, 11))
    assert points == (
        MissPoint(2, 0.06, 2.5, 3.0),  # five of ten missed, five and one more called
        MissPoint(10, 0.02, 0.5, 5.5),
        MissPoint(11, 0.01, 0.0, 6.5),
    )
    assert MISSES == (10, 20, 50, 100)
    assert [point.one_in for point in miss_curve(said, came, 1)] == list(MISSES)
    assert miss_curve(said, np.zeros(13, bool), 1) == ()
    assert_bounds(lambda years: miss_curve(said, came, years), "The number of years", 0.1, 1000)


def test_bad_input_is_refused():
    assert "There are 2 chances and 1 outcomes" in refusal(lambda: calls([0.1, 0.2], [True], 0.5))
    assert "A chance is 1.5" in refusal(lambda: calls([1.5], [True], 0.5))
    assert "give a value from 1 to 10,000." in refusal(lambda: ratio_that_misses([0.1], [True], 0))
    assert "2 chances" in refusal(lambda: calls([[0.1, 0.2]], [[True, False]], 0.5))


nights = st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60)


@given(nights, st.floats(0, 1), st.floats(0, 1))
def test_a_bolder_rule_calls_less_and_misses_more(rows, one, other):
    said, came = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    low, high = sorted([one, other])
    timid, bold = calls(said, came, low), calls(said, came, high)
    assert timid.nights == bold.nights == len(rows)
    assert bold.called <= timid.called
    assert bold.missed >= timid.missed


@given(nights, st.integers(1, 200))
def test_no_rule_found_misses_more_than_asked(rows, one_in):
    said, came = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    ratio = ratio_that_misses(said, came, one_in)
    if ratio is None:
        assert not came.any()
        return
    assert calls(said, came, ratio).missed <= came.sum() / one_in
    higher = np.nextafter(ratio, 1)
    if one_in > 1 and higher <= 1:
        assert calls(said, came, higher).missed > came.sum() // one_in
