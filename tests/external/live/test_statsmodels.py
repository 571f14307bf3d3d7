"""Intervals, regression and survival beside statsmodels', computed in the same run."""

from datetime import date

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from statsmodels.duration.survfunc import SurvfuncRight, survdiff
from statsmodels.regression.linear_model import OLS
from statsmodels.stats.proportion import proportion_confint

from lifecycle.agronomy.site_offset import fit_offset
from lifecycle.agronomy.survival import kaplan_meier, log_rank, wilson

DAY = date(2026, 4, 1)
CONFIDENCES = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99])
TENTHS = st.integers(-250, 250).map(lambda tenths: tenths / 10)
# Group (0 or 1), weeks, and whether it died.
PLANTS = st.lists(
    st.tuples(st.integers(0, 1), st.integers(1, 15), st.booleans()), min_size=4, max_size=40
)


@settings(deadline=None)
@given(st.integers(1, 300), st.data(), CONFIDENCES)
def test_wilson_interval(total, data, confidence):
    lived = data.draw(st.integers(0, total))
    ours = wilson(lived, total, confidence)
    theirs = proportion_confint(lived, total, alpha=1 - confidence, method="wilson")
    assert (ours.low, ours.high) == pytest.approx(theirs, abs=1e-12)


@settings(deadline=None, max_examples=50)
@given(st.lists(st.tuples(TENTHS, TENTHS), min_size=30, max_size=60), TENTHS, CONFIDENCES)
def test_prediction_of_a_night(nights, station_c, confidence):
    site, station = np.array(nights).T
    assume(np.ptp(station) > 0.05)
    fit = OLS(site, np.column_stack((np.ones(station.size), station))).fit()
    ours = fit_offset(site, station, DAY, DAY)
    assert (ours.intercept, ours.slope) == pytest.approx(tuple(fit.params), abs=1e-6)
    night = ours.predict(station_c)
    theirs = fit.get_prediction(np.array([[1.0, station_c]]))
    assert night.expected_c == pytest.approx(theirs.predicted_mean[0], abs=1e-6)
    assert night.sd == pytest.approx(theirs.se_obs[0], rel=1e-6, abs=1e-6)
    low, high = theirs.conf_int(obs=True, alpha=1 - confidence)[0]
    interval = night.interval(confidence)
    assert (interval.low, interval.high) == pytest.approx((low, high), rel=1e-6, abs=1e-5)


@settings(deadline=None)
@given(PLANTS)
def test_curve(plants):
    _, weeks, died = (np.array(column) for column in zip(*plants, strict=True))
    assume(died.any())
    ours = kaplan_meier(weeks, died)
    with np.errstate(divide="ignore", invalid="ignore"):
        theirs = SurvfuncRight(weeks, died.astype(int))
    assert ours.times == pytest.approx(theirs.surv_times)
    assert ours.at_risk == pytest.approx(theirs.n_risk)
    assert ours.survival == pytest.approx(theirs.surv_prob, abs=1e-12)
    left = np.array(ours.survival) > 0
    assert np.array(ours.standard_error)[left] == pytest.approx(theirs.surv_prob_se[left])


@settings(deadline=None)
@given(PLANTS)
def test_difference_of_two_groups(plants):
    group, weeks, died = (np.array(column) for column in zip(*plants, strict=True))
    one = group == 0
    assume(one.any())
    assume(not one.all())
    ours = log_rank(weeks[one], died[one], weeks[~one], died[~one])
    assume(ours is not None)
    chi2, p = survdiff(weeks, died.astype(int), group)
    assert ours.chi2 == pytest.approx(float(chi2), abs=1e-9)
    assert ours.p == pytest.approx(float(p), abs=1e-9)
