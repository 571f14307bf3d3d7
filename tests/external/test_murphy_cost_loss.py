"""The cost-loss rule of Murphy 1977.

A. H. Murphy, The value of climatological, categorical and probabilistic forecasts in the cost-loss
ratio situation, Monthly Weather Review 105:803-816. The paper's results, from memory: it pays to
act when the probability exceeds C/L; with the climatological frequency alone the expense is the
smaller of C and the frequency times L; perfect forecasts cost the frequency times C; and reliable
probabilities never cost more than the climatology.
"""

import numpy as np
import pytest

from lifecycle.agronomy.cost_loss import always_expense, calls, never_expense, should_act

pytestmark = pytest.mark.external

RATIOS = (0.01, 0.05, 0.2, 0.5, 0.8)


def reliable(nights=200_000, seed=4):
    """Chances that are true: what happened was drawn from them."""
    rng = np.random.default_rng(seed)
    said = rng.beta(0.4, 1.6, nights)
    return said, rng.random(nights) < said


@pytest.mark.parametrize("ratio", RATIOS)
def test_acting_from_c_over_l_is_the_cheapest_threshold(ratio):
    said, came = reliable()
    cheapest = calls(said, came, ratio).expense(ratio)
    for threshold in np.linspace(0, 1, 41):
        counts = calls(said, came, float(threshold))
        assert cheapest <= counts.expense(ratio) * (1 + 2e-3), threshold


@pytest.mark.parametrize("ratio", RATIOS)
def test_reliable_chances_never_cost_more_than_the_climatology(ratio):
    said, came = reliable()
    counts = calls(said, came, ratio)
    climatology = min(always_expense(counts, ratio), never_expense(counts))
    assert counts.expense(ratio) < climatology


@pytest.mark.parametrize("ratio", RATIOS)
def test_perfect_forecasts_cost_the_frequency_times_c(ratio):
    _, came = reliable(1000)
    counts = calls(came.astype(float), came, ratio)
    assert counts.expense(ratio) == pytest.approx(ratio * came.sum())


def test_the_climatology_acts_always_or_never_as_the_frequency_says():
    _, came = reliable(10_000)
    frequency = float(came.mean())
    said = np.full(came.shape, frequency)
    for ratio in RATIOS:
        counts = calls(said, came, ratio)
        wanted = always_expense(counts, ratio) if frequency >= ratio else never_expense(counts)
        assert counts.expense(ratio) == pytest.approx(wanted)
        assert should_act(frequency, ratio) is (frequency >= ratio)
