"""Blends beside every corner of their linear programme, and mixtures beside a fine grid."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.blend import blend, match_ratio
from lifecycle.agronomy.nutrients import Amounts, Analysis, Nutrient

percents = st.sampled_from([0, 0, 0.5, 1, 1.5, 2, 3, 4, 5, 9, 10, 12, 20, 22, 27, 30])
materials = st.lists(st.builds(Analysis, percents, percents, percents), min_size=1, max_size=3)
grams = st.sampled_from([0, 0, 0.1, 1, 2.5, 7, 10, 40, 300])
targets = st.builds(Amounts, grams, grams, grams)


def as_array(amounts):
    return np.array([amounts.of(nutrient) for nutrient in Nutrient])


def best_corner(labels, target):
    """Least supply, then least mass, among all corners of what meets the target."""
    shares = np.array([[one.n, one.p2o5, one.k2o] for one in labels]).T / 100
    wanted, count = as_array(target), len(labels)
    rows = np.vstack((shares, np.eye(count)))
    right = np.append(wanted, np.zeros(count))
    best = None
    for chosen in map(list, combinations(range(3 + count), count)):
        if abs(np.linalg.det(rows[chosen])) < 1e-12:
            continue
        corner = np.linalg.solve(rows[chosen], right[chosen])
        if np.all(rows @ corner >= right - 1e-9 * wanted.sum()):
            found = (round((shares @ corner).sum(), 6), corner.sum())
            best = found if best is None else min(best, found)
    return best


@given(materials, targets)
def test_no_corner_is_better(labels, target):
    wanted = as_array(target)
    reach = np.array([[one.share(nutrient) for nutrient in Nutrient] for one in labels]).any(axis=0)
    assume(wanted.any())
    assume(np.all(reach | (wanted == 0)))
    found = blend(labels, target)
    supply, excess = as_array(found.supplied), as_array(found.excess)
    best_supply, best_mass = best_corner(labels, target)
    assert supply.sum() == pytest.approx(best_supply, rel=1e-5, abs=1e-5)
    assert sum(found.grams) == pytest.approx(best_mass, rel=1e-4)
    assert np.all(supply >= wanted - 1e-5 * wanted.sum())
    assert excess == pytest.approx(supply - wanted, abs=1e-5 * wanted.sum())
    assert min(found.grams) >= 0
    assert min(excess) >= 0


def test_three_materials_that_meet_a_target_exactly():
    found = blend([Analysis(10, 0, 0), Analysis(0, 20, 0), Analysis(0, 0, 50)], Amounts(1, 2, 3))
    assert found.grams == pytest.approx((10, 10, 6))
    assert found.excess == Amounts(0, 0, 0)
    assert as_array(found.supplied) == pytest.approx([1, 2, 3])


def test_excess_is_shown_and_least():
    # Blood meal and bone meal: the phosphate of the first saves some of the second.
    found = blend([Analysis(12, 0, 0), Analysis(2, 27, 0)], Amounts(3, 5.4, 0))
    assert found.grams == pytest.approx((65 / 3, 20))
    assert found.excess.n == 0
    # 10 g of K2O bring 10 g of N that nobody asked for.
    found = blend([Analysis(10, 0, 10)], Amounts(0, 0, 10))
    assert found.grams == pytest.approx((100,))
    assert as_array(found.excess) == pytest.approx([10, 0, 0])


def test_among_equals_the_lighter_one():
    labels = [Analysis(5, 5, 5), Analysis(10, 10, 10)]
    assert blend(labels, Amounts(5, 1, 0)).grams == pytest.approx((0, 50))
    assert blend(labels[::-1], Amounts(5, 1, 0)).grams == pytest.approx((50, 0))
    # Sand changes nothing, so none is taken.
    assert blend([Analysis(0, 0, 0), Analysis(5, 0, 0)], Amounts(1, 0, 0)).grams[0] == 0


@pytest.mark.parametrize("scale", [1e-5, 1.0, 1e6])
def test_size_changes_nothing(scale):
    found = blend([Analysis(10, 0, 0), Analysis(4, 20, 0)], Amounts(0.6 * scale, scale, 0))
    assert found.grams == pytest.approx((4 * scale, 5 * scale), rel=1e-5)
    assert found.excess == Amounts(0, 0, 0)


def test_a_small_excess_of_a_small_target_is_shown():
    assert blend([Analysis(10, 0, 10)], Amounts(0, 0, 1e-5)).excess.n == pytest.approx(1e-5)


def test_out_of_reach():
    labels = [Analysis(10, 0, 0), Analysis(5, 0, 0)]
    assert refusal(lambda: blend(labels, Amounts(1, 1, 0))) == (
        "None of these materials supplies P2O5; add one that does, or ask for none of it."
    )
    assert refusal(lambda: blend(labels, Amounts(1, 1, 1))) == (
        "None of these materials supplies P2O5 or K2O; add one that does, or ask for none of it."
    )


def test_traces_are_nothing():
    assert "supplies N;" in refusal(lambda: blend([Analysis(0.0099, 9, 0)], Amounts(1, 1, 0)))
    # A hundredth of a percent still counts.
    assert blend([Analysis(0.01, 0, 0)], Amounts(1e-3, 0, 0)).grams == pytest.approx((10,))
    nitrogen = [Analysis(10, 0, 0)]
    assert blend(nitrogen, Amounts(1, 0.99e-6, 0)).grams == pytest.approx((10,))
    assert "supplies P2O5;" in refusal(lambda: blend(nitrogen, Amounts(1, 1.01e-6, 0)))


def test_nothing_to_blend():
    assert refusal(lambda: blend([], Amounts(1, 0, 0))) == (
        "There is no material to mix; give at least one."
    )
    assert refusal(lambda: blend([Analysis(1, 1, 1)], Amounts(0, 0, 0))) == (
        "The target asks for no nutrient; give at least one amount above 0 g."
    )


def test_bounds_of_a_target():
    one = [Analysis(30, 30, 30)]
    for nutrient in range(3):
        assert_bounds(
            lambda x, at=nutrient: blend(one, Amounts(*np.where(np.arange(3) == at, x, 1.0))),
            f"The target for {list(Nutrient)[nutrient]}",
            0,
            1e6,
            "g",
        )


def angle(one, other):
    return float(
        np.arccos(np.clip(one @ other / np.linalg.norm(one) / np.linalg.norm(other), -1, 1))
    )


@given(materials, st.builds(Analysis, percents, percents, percents))
def test_no_mixture_comes_nearer(labels, ratio):
    wanted = np.array([ratio.n, ratio.p2o5, ratio.k2o])
    rows = np.array([[one.n, one.p2o5, one.k2o] for one in labels])
    assume((rows @ wanted).any())
    found = match_ratio(labels, ratio)
    mixed = np.array([found.analysis.n, found.analysis.p2o5, found.analysis.k2o])
    assert sum(found.shares) == pytest.approx(1)
    assert min(found.shares) >= 0
    assert mixed == pytest.approx(np.array(found.shares) @ rows, abs=1e-9)
    steps = np.linspace(0, 1, 21)
    grid = np.array(np.meshgrid(*[steps] * len(labels))).reshape(len(labels), -1).T @ rows
    tried = grid[grid.any(axis=1)]
    nearest = min(angle(mixture, wanted) for mixture in tried)
    # The angle of nearly the same direction is known to about 1e-8 only.
    assert angle(mixed, wanted) <= nearest + 1e-7


def test_a_ratio_that_can_be_met():
    meals = [Analysis(12, 0, 0), Analysis(2, 27, 0), Analysis(1, 0, 9)]
    found = match_ratio(meals, Analysis(2, 4, 2)).analysis
    assert found.p2o5 / found.n == pytest.approx(2)
    assert found.k2o / found.n == pytest.approx(1)
    assert match_ratio([Analysis(5, 10, 5)], Analysis(2, 4, 2)).shares == (1.0,)


def test_a_ratio_that_cannot():
    assert refusal(lambda: match_ratio([Analysis(5, 0, 0)], Analysis(0, 4, 2))) == (
        "None of these materials holds what 0-4-2 asks for; choose others, or another ratio."
    )
    assert refusal(lambda: match_ratio([Analysis(5, 0, 0)], Analysis(0, 0, 0))) == (
        "The ratio 0-0-0 asks for no nutrient; give at least one above 0."
    )
    assert "no material to mix" in refusal(lambda: match_ratio([], Analysis(2, 4, 2)))
