"""Fertilizer for a bed: the table of Colorado State University Extension, GardenNotes 233.

Pounds of product for 100 or 1,000 square feet; the table rounds to a tenth of a pound.
"""

import pytest

from lifecycle.agronomy.nutrients import (
    Analysis,
    Measure,
    Nutrient,
    RateUnit,
    dose_for_bed,
    in_measures,
    rate_g_m2,
)

POUND_G = 453.59237
SQUARE_FOOT_M2 = 0.09290304
PER_100, PER_1000 = RateUnit.LB_PER_100_SQ_FT, RateUnit.LB_PER_1000_SQ_FT


@pytest.mark.parametrize(
    ("nitrogen_lb", "unit", "square_feet", "analysis", "product_lb", "printed"),
    [
        (0.1, PER_100, 100, Analysis(18, 6, 12), 0.556, 0.6),
        (1, PER_1000, 1000, Analysis(45, 0, 0), 2.222, 2.2),
        (1, PER_1000, 1000, Analysis(10, 10, 10), 10.0, 10.0),
        (1, PER_1000, 1000, Analysis(16, 8, 8), 6.25, 6.3),
        (0.2, PER_100, 100, Analysis(5, 10, 10), 4.0, 4.0),
    ],
)
def test_pounds_of_product(nitrogen_lb, unit, square_feet, analysis, product_lb, printed):
    rate = rate_g_m2(nitrogen_lb, unit)
    grams = dose_for_bed(analysis, Nutrient.N, rate, square_feet * SQUARE_FOOT_M2)
    assert grams / POUND_G == pytest.approx(product_lb, abs=5e-4)
    assert grams / POUND_G == pytest.approx(printed, abs=0.0501)


def test_two_cups_weigh_about_a_pound():
    assert in_measures(POUND_G, Measure.CUP) == pytest.approx(2)
