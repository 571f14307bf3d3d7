"""Single and double sine after UC IPM's degree-day definitions.

The first example is UC IPM's as the documentation of the package TrenchR prints it; the others
were computed independently, as the numerical integral of the clipped sine.
"""

import pytest

from lifecycle.agronomy.heat_units import Cutoff, Method, day_units


def test_printed_example():
    # Published 0.47; 0.46806 computed independently.
    found = day_units(7, 14, Method.SINGLE_SINE, 12, 33)
    assert found == pytest.approx(0.47, abs=0.005)
    assert found == pytest.approx(0.46806, abs=1e-5)


@pytest.mark.parametrize(
    ("tmin", "tmax", "expected"),
    [
        (45, 95, 19.02641),
        (40, 60, 3.18310),
        (55, 80, 17.5),
        (60, 100, 26.34511),
        (30, 45, 0),
        (88, 99, 36.0),
    ],
)
def test_single_sine_with_a_horizontal_cutoff(tmin, tmax, expected):
    found = day_units(tmin, tmax, Method.SINGLE_SINE, 50, 86, Cutoff.HORIZONTAL)
    assert found == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(
    ("tmin", "tmax", "next_tmin", "expected"), [(45, 95, 55, 21.08525), (50, 90, 46, 18.72880)]
)
def test_double_sine(tmin, tmax, next_tmin, expected):
    found = day_units(tmin, tmax, Method.DOUBLE_SINE, 50, 86, next_tmin=next_tmin)
    assert found == pytest.approx(expected, abs=1e-5)


def test_single_sine_as_gddpy_computed_it():
    # gddPy 1.0.3, calcBaskervilleEmin, 46 and 72 F over 50 F.
    assert day_units(46, 72, Method.SINGLE_SINE, 50) == pytest.approx(9.676664, abs=1e-6)
