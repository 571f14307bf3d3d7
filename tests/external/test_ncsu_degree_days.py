"""Peppers over base 65 F: M. Peet, NCSU, Sustainable Practices for Vegetable Production, App. 2.

The source gives the formula and the base; that no day counts below 0 is convention.
"""

import pytest

from lifecycle.agronomy.heat_units import Method, day_units


@pytest.mark.parametrize(("tmax", "tmin", "expected"), [(86, 64, 10.0), (70, 50, 0.0)])
def test_pepper_days(tmax, tmin, expected):
    assert day_units(tmin, tmax, Method.AVERAGE, 65) == expected
