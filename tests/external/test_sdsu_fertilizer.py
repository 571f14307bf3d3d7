"""A bed's fertilizer worked through in a 2009 column from South Dakota State University Extension.

The inputs are the column's; the pounds of product are derived from them.
"""

import pytest

from lifecycle.agronomy.nutrients import (
    Analysis,
    Nutrient,
    RateUnit,
    dose_for_bed,
    rate_g_m2,
    supplied,
)

POUND_G = 453.59237
FOOT_M = 0.3048


def test_bed_of_25_by_20_feet():
    area = 25 * FOOT_M * 20 * FOOT_M
    assert area / FOOT_M**2 == pytest.approx(500)
    rate = rate_g_m2(2, RateUnit.LB_PER_1000_SQ_FT)
    label = Analysis(20, 2, 2)
    grams = dose_for_bed(label, Nutrient.N, rate, area)
    assert grams / POUND_G == pytest.approx(5.0, abs=1e-9)
    assert supplied(label, grams).n / POUND_G == pytest.approx(1.0, abs=1e-9)
