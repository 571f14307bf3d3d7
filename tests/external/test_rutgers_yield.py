"""Half a pound a square foot from a mixed garden: Rutgers NJAES 2012. A target, within 40 %."""

import pytest

from lifecycle.agronomy.food_safety import season_target

POUND_KG = 0.45359237
SQUARE_FOOT_M2 = 0.09290304


def test_two_hundred_square_feet():
    found = season_target(200 * SQUARE_FOOT_M2, 0.5 * POUND_KG / SQUARE_FOOT_M2)
    assert found / POUND_KG == pytest.approx(100)
