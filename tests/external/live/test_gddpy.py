"""The single sine beside gddPy's Baskerville-Emin, computed in the same run.

gddPy 1.0.3 fails on a day wholly above the base, so such days are not asked of it.
"""

import pytest
from gddPy import GDD
from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.agronomy.heat_units import Method, day_units


@settings(deadline=None)
@given(st.floats(-20, 60), st.floats(0.01, 40), st.floats(0.001, 40))
def test_single_sine_of_a_day_across_the_base(base, below, above):
    low, high = base - below, base + above
    theirs = GDD({"min_temp": low, "max_temp": high, "threshold_low": base})
    ours = day_units(low, high, Method.SINGLE_SINE, base)
    assert ours == pytest.approx(theirs.calcBaskervilleEmin(), abs=1e-6)


@settings(deadline=None)
@given(st.floats(-20, 60), st.floats(0, 40), st.floats(0, 40))
def test_simple_average(low, width, base):
    theirs = GDD({"min_temp": low, "max_temp": low + width, "threshold_low": base})
    ours = day_units(low, low + width, Method.AVERAGE, base)
    assert ours == pytest.approx(theirs.calcDailyAverage(), abs=1e-9)
