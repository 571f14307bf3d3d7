"""Survival beside lifelines', on the leukaemia data that it ships and on random plants."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from lifelines.datasets import load_leukemia
from lifelines.statistics import logrank_test

from lifecycle.agronomy.survival import kaplan_meier, log_rank

PLANTS = st.lists(
    st.tuples(st.integers(0, 1), st.integers(1, 15), st.booleans()), min_size=4, max_size=40
)


def compare_curve(weeks, died):
    ours = kaplan_meier(weeks, died)
    theirs = KaplanMeierFitter().fit(weeks, died)
    for week in range(40):
        assert ours.at(week) == pytest.approx(float(theirs.predict(week)), abs=1e-12)
    median = theirs.median_survival_time_
    # It multiplies by adding logarithms, so a share of exactly a half may come out a hair above.
    if all(abs(share - 0.5) > 1e-9 for share in ours.survival):
        assert ours.median == (None if np.isinf(median) else median)
    return ours


def test_leukaemia():
    frame = load_leukemia()
    weeks, died, treated = frame["t"], frame["status"].astype(bool), frame["Rx"] == 0
    assert compare_curve(weeks[treated], died[treated]).median == 23
    assert compare_curve(weeks[~treated], died[~treated]).median == 8
    ours = log_rank(weeks[treated], died[treated], weeks[~treated], died[~treated])
    theirs = logrank_test(weeks[treated], weeks[~treated], died[treated], died[~treated])
    assert ours.chi2 == pytest.approx(theirs.test_statistic)
    assert ours.p == pytest.approx(theirs.p_value)


@settings(deadline=None, max_examples=25)
@given(PLANTS)
def test_random_plants(plants):
    group, weeks, died = (np.array(column) for column in zip(*plants, strict=True))
    compare_curve(weeks, died)
    one = group == 0
    assume(one.any())
    assume(not one.all())
    ours = log_rank(weeks[one], died[one], weeks[~one], died[~one])
    assume(ours is not None)
    theirs = logrank_test(weeks[one], weeks[~one], died[one], died[~one])
    assert ours.chi2 == pytest.approx(theirs.test_statistic, abs=1e-9)
