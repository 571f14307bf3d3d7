"""Survival in textbooks: Freireich et al. 1963, Newcombe 1998, Gelman et al.

Remission of leukaemia in weeks under 6-MP and placebo (Freireich et al., Blood 21:699), as every
textbook prints it and lifelines ships it; the answers were also computed with lifelines and
statsmodels. The log-rank 16.79, Newcombe's intervals (Statistics in Medicine 17:857) and the rat
tumours of Bayesian Data Analysis are from memory.
"""

import pytest

from lifecycle.agronomy.survival import (
    BetaShare,
    kaplan_meier,
    log_rank,
    prior_from_moments,
    wilson,
)

# Weeks to relapse; a plus marks one still in remission when last seen.
TREATED = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"


def group(weeks):
    parts = weeks.split()
    return [float(part.rstrip("+")) for part in parts], [not part.endswith("+") for part in parts]


def test_remission_under_treatment():
    curve = kaplan_meier(*group(TREATED))
    expected = {6: 0.8571, 7: 0.8067, 10: 0.7529, 13: 0.6902, 16: 0.6275, 22: 0.5378, 23: 0.4482}
    assert dict(zip(curve.times, curve.survival, strict=True)) == pytest.approx(expected, abs=5e-5)
    assert curve.standard_error[0] == pytest.approx(0.0764, abs=5e-5)
    assert curve.median == 23


def test_remission_under_placebo():
    curve = kaplan_meier(*group(PLACEBO))
    assert curve.median == 8
    assert curve.survival[-1] == 0


def test_log_rank():
    found = log_rank(*group(TREATED), *group(PLACEBO))
    assert found.chi2 == pytest.approx(16.792941, abs=1e-6)
    assert found.p == pytest.approx(4.169e-5, abs=5e-9)


@pytest.mark.parametrize(
    ("lived", "total", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_newcombe(lived, total, low, high):
    found = wilson(lived, total)
    assert found.low == pytest.approx(low, abs=5e-5)
    assert found.high == pytest.approx(high, abs=5e-5)


def test_rat_tumours():
    after = BetaShare(1.4, 8.6).after(4, 14)
    assert (after.a, after.b) == pytest.approx((5.4, 18.6))
    assert after.mean == pytest.approx(0.2250, abs=1e-4)
    assert after.sd == pytest.approx(0.0835, abs=1e-4)
    assert after.interval().low == pytest.approx(0.0854, abs=5e-5)
    assert after.interval().high == pytest.approx(0.4078, abs=5e-5)


def test_prior_of_the_rats():
    prior = prior_from_moments(0.136, 0.103)
    assert prior.a == pytest.approx(1.370, abs=5e-4)
    assert prior.b == pytest.approx(8.706, abs=5e-4)
