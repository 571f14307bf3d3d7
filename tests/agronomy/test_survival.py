"""Intervals of a share, survival curves, and what groups lead one to expect."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.survival import (
    BetaShare,
    check_counts,
    checked_confidence,
    kaplan_meier,
    log_rank,
    prior_from_groups,
    prior_from_moments,
    wilson,
)

times = st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=20)


def test_wilson_by_hand():
    # 95 %: z = 1.959964; 9 of 10 and 7 of 12 computed independently.
    assert wilson(9, 10).low == pytest.approx(0.5958, abs=5e-5)
    assert wilson(9, 10).high == pytest.approx(0.9821, abs=5e-5)
    assert wilson(7, 12).low == pytest.approx(0.3195, abs=5e-5)
    assert wilson(7, 12).high == pytest.approx(0.8067, abs=5e-5)
    # At 0 of n the upper end is z2 / (n + z2).
    assert wilson(0, 4).high == pytest.approx(1.959964**2 / (4 + 1.959964**2), rel=1e-6)
    assert wilson(0, 4, 0.9).high == pytest.approx(1.644854**2 / (4 + 1.644854**2), rel=1e-6)


@given(st.integers(1, 60), st.data(), st.sampled_from([0.5, 0.8, 0.95, 0.999]))
def test_wilson_holds_the_share(total, data, confidence):
    lived = data.draw(st.integers(0, total))
    found = wilson(lived, total, confidence)
    assert 0 <= found.low <= lived / total <= found.high <= 1
    assert (found.low == 0) == (lived == 0)
    assert (found.high == 1) == (lived == total)
    mirrored = wilson(total - lived, total, confidence)
    assert mirrored.low == pytest.approx(1 - found.high, abs=1e-12)


def test_counts_that_cannot_be():
    assert refusal(lambda: wilson(0, 0)) == "A share needs a count; give a total of 1 or more."
    assert_bounds(lambda x: check_counts(x, 7), "The count", 0, 7)
    check_counts(1, 1)
    assert_bounds(checked_confidence, "The confidence", 0.5, 0.999)
    assert_bounds(lambda x: wilson(1, 2, x), "The confidence", 0.5, 0.999)


def test_a_curve_by_hand():
    # Six plants: one dies in month 1, two in month 3, one is given away then, two are watched on.
    curve = kaplan_meier([1, 3, 3, 3, 5, 6], [1, 1, 1, 0, 0, 0])
    assert curve.times == (1, 3)
    assert curve.at_risk == (6, 5)
    assert curve.deaths == (1, 2)
    assert curve.survival == pytest.approx((5 / 6, 5 / 6 * 3 / 5))
    # Greenwood: S times the root of the sum of d / (n (n - d)).
    assert curve.standard_error == pytest.approx(
        (5 / 6 * math.sqrt(1 / 30), 0.5 * math.sqrt(1 / 30 + 2 / 15))
    )
    assert [curve.at(month) for month in (0, 0.9, 1, 2.9)] == pytest.approx([1, 1, 5 / 6, 5 / 6])
    assert curve.at(3) == curve.at(99) == pytest.approx(0.5)
    assert curve.median == 3


def test_a_curve_nobody_died_on():
    curve = kaplan_meier([4, 9], [False, False])
    assert curve.times == ()
    assert curve.at(50) == 1
    assert curve.median is None


def test_a_curve_to_the_last():
    curve = kaplan_meier([2, 4], [True, True])
    assert curve.survival == (0.5, 0)
    assert curve.median == 2
    assert math.isnan(curve.standard_error[1])
    # 1 - 1/3 - 1/6 in binary; half is half.
    assert kaplan_meier([1, 1, 2, 3, 3, 3], [1, 1, 1, 0, 0, 0]).median == 2
    assert kaplan_meier([1, 1, 2, 3, 3, 3, 3], [1, 1, 1, 0, 0, 0, 0]).median is None


def test_median_at_half_and_no_more():
    assert kaplan_meier([1] * 100 + [2] * 100, [True] * 100 + [False] * 100).median == 1
    assert kaplan_meier([1] * 99 + [2] * 101, [True] * 99 + [False] * 101).median is None


@given(times)
def test_a_curve_only_falls(watched):
    curve = kaplan_meier(*zip(*watched, strict=True))
    assert list(curve.times) == sorted({time for time, died in watched if died})
    assert sum(curve.deaths) == sum(died for _, died in watched)
    assert all(a > b for a, b in zip((1, *curve.survival), curve.survival, strict=False))


def test_lists_that_do_not_match():
    assert refusal(lambda: kaplan_meier([1, 2], [True])) == (
        "There are 2 times and 1 outcomes; give one of each for every plant."
    )
    assert "give one of each" in refusal(lambda: kaplan_meier([[1, 2]], [[True, True]]))
    assert refusal(lambda: kaplan_meier([], [])) == (
        "There is no plant to follow; give at least one."
    )
    assert_bounds(lambda x: kaplan_meier([x], [True]), "A time", 0, 1e6)
    assert "0 outcomes" in refusal(lambda: log_rank([1], [True], [2], []))


def test_log_rank_by_hand():
    # Death 1 among 2 and 2 at risk, death 2 among 1 and 2.
    found = log_rank([1, 5], [True, False], [2, 5], [True, False])
    expected = 2 / 4 + 1 / 3
    variance = 1 / 4 + 1 / 3 * 2 / 3
    assert found.chi2 == pytest.approx((1 - expected) ** 2 / variance)
    # p of chi-squared with one degree of freedom: 3.841459 is 5 %.
    assert found.p == pytest.approx(math.erfc(math.sqrt(found.chi2 / 2)))
    tied = log_rank([1, 1, 5], [True, True, False], [1, 5, 5], [True, False, False])
    # Three deaths among six, half of them ours: variance 3/4 x 3/5.
    assert tied.chi2 == pytest.approx((2 - 1.5) ** 2 / (3 * 0.5 * 0.5 * 3 / 5))


def test_log_rank_of_two_plants():
    # One death among two: half of it expected in either group, variance a quarter.
    assert log_rank([1], [True], [2], [False]).chi2 == pytest.approx(1)


def test_log_rank_with_nothing_to_compare():
    assert log_rank([1, 2], [False, False], [3], [False]) is None
    # The only death comes after the other group was last seen.
    assert log_rank([1], [False], [3, 4], [True, False]) is None
    assert log_rank([2], [True], [1], [False]) is None


@given(times, times)
def test_log_rank_knows_no_first_group(one, other):
    first, second = list(zip(*one, strict=True)), list(zip(*other, strict=True))
    a, b = log_rank(*first, *second), log_rank(*second, *first)
    assert (a is None) == (b is None)
    if a is not None:
        assert a.chi2 == pytest.approx(b.chi2, abs=1e-9)
        assert 0 <= a.p <= 1


def test_belief_in_a_share():
    even = BetaShare(1, 1)
    assert even.mean == 0.5
    assert even.sd == pytest.approx(math.sqrt(1 / 12))
    # All shares alike: the central 80 % lies from 0.1 to 0.9.
    assert even.interval(0.8).low == pytest.approx(0.1)
    assert even.interval(0.8).high == pytest.approx(0.9)
    assert even.interval() == even.interval(0.95)
    assert even.interval(0.95).low == pytest.approx(0.025)
    assert even.after(3, 5) == BetaShare(4, 3)
    assert BetaShare(3, 1).mean == 0.75
    assert_bounds(lambda x: BetaShare(x, 1), "The parameter a", 1e-12, 1e9)
    assert_bounds(lambda x: BetaShare(1, x), "The parameter b", 1e-12, 1e9)
    assert "The count" in refusal(lambda: even.after(6, 5))


def test_prior_from_moments():
    # m(1-m)/s2 - 1 = 0.1875/0.0375 - 1 = 4.
    prior = prior_from_moments(0.75, math.sqrt(0.0375))
    assert (prior.a, prior.b) == pytest.approx((3, 1))
    assert refusal(lambda: prior_from_moments(0.1, 0.31)) == (
        "Shares with a mean of 0.1 cannot spread by 0.31; give a standard deviation below 0.3."
    )
    assert_bounds(lambda x: prior_from_moments(x, 1e-4), "The mean share", 1e-6, 1 - 1e-6)
    assert refusal(lambda: prior_from_moments(0.5, 0.5)).startswith("Shares with a mean of 0.5")
    assert "from 0.0001 to 0.5" in refusal(lambda: prior_from_moments(0.5, 0.51))
    assert prior_from_moments(0.5, 1e-4).mean == pytest.approx(0.5)
    assert "deviation is 9.9e-05;" in refusal(lambda: prior_from_moments(0.5, 9.9e-5))
    # A hair from the widest spread that there is, and from a prior worth a millionth of a plant.
    widest = math.sqrt(0.25 / (1 + 1e-6))
    assert prior_from_moments(0.5, widest - 1e-9).a < 1e-6
    assert "cannot spread" in refusal(lambda: prior_from_moments(0.5, widest + 1e-9))


@given(st.floats(0.01, 0.99), st.floats(0.01, 0.95))
def test_a_prior_has_its_moments(average, part):
    sd = part * math.sqrt(average * (1 - average))
    prior = prior_from_moments(average, sd)
    assert prior.mean == pytest.approx(average)
    assert prior.sd == pytest.approx(sd)


def test_prior_from_groups():
    # Shares 0.5, 0.7, 0.9: mean 0.7, sd 0.2.
    prior = prior_from_groups([(5, 10), (14, 20), (9, 10)])
    assert prior.mean == pytest.approx(0.7)
    assert prior.sd == pytest.approx(0.2)
    assert prior_from_groups([(1, 2), (3, 4)]).mean == pytest.approx(0.625)


def test_groups_that_tell_nothing():
    assert prior_from_groups([]) is None
    assert prior_from_groups([(3, 4)]) is None
    assert prior_from_groups([(3, 4), (6, 8)]) is None
    assert prior_from_groups([(0, 4), (4, 4)]) is None
    # Two shares spread by their difference over the root of two.
    assert prior_from_groups([(5000, 7071), (5001, 7071)]) is not None
    assert prior_from_groups([(5000, 7072), (5001, 7072)]) is None
    # Shares 0, 0, 1, 1 spread just farther than any belief can; 0.1 and 0.9 do not.
    assert prior_from_groups([(0, 9), (0, 9), (9, 9), (9, 9)]) is None
    assert prior_from_groups([(1, 10), (1, 10), (9, 10), (9, 10)]) is not None
    assert "The count" in refusal(lambda: prior_from_groups([(5, 4), (1, 2)]))
