"""Rates by the acre on a small bed, and needs given as elements: New Mexico State University.

Flynn, leaflet on rates for small plots (pounds per acre / 43,560 x square feet); Guide H-120.
"""

import pytest

from lifecycle.agronomy.nutrients import RateUnit, phosphate, potash, rate_g_m2

POUND_G = 453.59237
SQUARE_FOOT_M2 = 0.09290304


def test_hundred_pounds_an_acre_on_a_hundred_square_feet():
    grams = rate_g_m2(100, RateUnit.LB_PER_ACRE) * 100 * SQUARE_FOOT_M2
    assert grams / POUND_G == pytest.approx(0.2296, abs=5e-5)
    assert grams / POUND_G * 16 == pytest.approx(3.67, abs=0.005)


def test_twenty_pounds_of_each_element_as_oxides():
    assert phosphate(20) == pytest.approx(45.8, abs=0.05)
    assert potash(20) == pytest.approx(24.05, abs=0.05)
