"""The double sine beside numerical quadrature of the clipped sine; no library has it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from lifecycle.agronomy.heat_units import Cutoff, Method, day_units

TEMPERATURES = st.floats(-10, 45)


def half_day(low, high, base, ceiling):
    """Mean over the half wave from minimum to maximum of what lies between base and ceiling."""

    def height(phase):
        warmth = (low + high) / 2 + (high - low) / 2 * np.sin(phase)
        return min(max(warmth - base, 0.0), ceiling - base)

    kinks = [(limit - (low + high) / 2) / max((high - low) / 2, 1e-12) for limit in (base, ceiling)]
    breaks = [np.arcsin(kink) for kink in kinks if -1 < kink < 1]
    area, _error = quad(height, -np.pi / 2, np.pi / 2, points=breaks or None)
    return area / np.pi


@settings(deadline=None)
@given(TEMPERATURES, TEMPERATURES, TEMPERATURES, st.floats(0, 15), st.floats(5, 25))
def test_double_sine(one, other, next_low, base, width):
    low, high = sorted((one, other))
    ours = day_units(
        low, high, Method.DOUBLE_SINE, base, base + width, Cutoff.HORIZONTAL, next_tmin=next_low
    )
    halves = [half_day(start, high, base, base + width) for start in (low, next_low)]
    assert ours == pytest.approx(sum(halves) / 2, abs=1e-5)
