"""Relative economic value after Richardson 2000.

D. S. Richardson, Skill and relative economic value of the ECMWF ensemble prediction system,
Quarterly Journal of the Royal Meteorological Society 126:649-667. His identities, from memory: the
value is 1 for perfect forecasts and 0 for the climatology; with hit rate H, false-alarm rate F and
base rate s it is [min(r, s) - F r (1 - s) + H s (1 - r) - s] / [min(r, s) - s r] for the cost-loss
ratio r; it is highest at r = s, where it equals H - F (the Peirce skill score).
"""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lifecycle.agronomy.cost_loss import Calls, relative_value

pytestmark = pytest.mark.external

counted = st.integers(1, 500)


def richardson(counts: Calls, ratio: float) -> float:
    """The formula as printed, of rates."""
    base = counts.came / counts.nights
    hit = counts.caught / counts.came
    false = counts.called_for_nothing / (counts.nights - counts.came)
    best = min(ratio, base)
    saved = best - false * ratio * (1 - base) + hit * base * (1 - ratio) - base
    return saved / (best - base * ratio)


@given(counted, counted, counted, counted, st.floats(0.01, 0.99))
def test_the_formula_of_rates_gives_the_same(caught, missed, nothing, quiet, ratio):
    counts = Calls(caught, missed, nothing, quiet)
    assert relative_value(counts, ratio) == pytest.approx(
        richardson(counts, ratio), rel=1e-6, abs=1e-9
    )


@given(counted, counted, counted, counted)
def test_at_the_base_rate_it_is_hits_less_false_alarms(caught, missed, nothing, quiet):
    counts = Calls(caught, missed, nothing, quiet)
    base = counts.came / counts.nights
    peirce = caught / counts.came - nothing / (nothing + quiet)
    highest = relative_value(counts, base)
    assert highest == pytest.approx(peirce, abs=1e-9)
    assume(peirce > 0)
    for ratio in np.linspace(0.02, 0.98, 25):
        assert relative_value(counts, float(ratio)) <= highest + 1e-9


@given(counted, counted, st.floats(0.01, 0.99))
def test_perfect_is_one_and_the_climatology_nought(came, peace, ratio):
    assert relative_value(Calls(came, 0, 0, peace), ratio) == pytest.approx(1)
    always, never = Calls(came, 0, peace, 0), Calls(0, came, 0, peace)
    base = came / (came + peace)
    assert relative_value(always if base >= ratio else never, ratio) == pytest.approx(0, abs=1e-9)
