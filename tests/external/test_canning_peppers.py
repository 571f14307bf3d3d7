"""Peppers in pints, 35 minutes under pressure: dial gauge by altitude.

A recipe table of an extension service of the USDA type: 11 psi to 2,000 ft, then 12, 13 and 14 for
each 2,000 ft. Peppers are low in acid: only the tested recipe and a checked gauge are safe.
"""

import pytest

from lifecycle.agronomy.food_safety import canning_pressure
from lifecycle.handbook import CAUTIONS

FOOT_M = 0.3048
DIAL_GAUGE = [(2000 * FOOT_M, 11), (4000 * FOOT_M, 12), (6000 * FOOT_M, 13), (8000 * FOOT_M, 14)]


@pytest.mark.parametrize(
    ("feet", "psi"), [(0, 11), (1500, 11), (2000, 11), (3000, 12), (5000, 13), (8000, 14)]
)
def test_dial_gauge(feet, psi):
    assert canning_pressure(feet * FOOT_M, DIAL_GAUGE) == psi


def test_the_caution_gives_time_and_pressure():
    assert "half-pints and pints 35 minutes, dial gauge 11 psi to 2,000 ft" in CAUTIONS["preserve"]
    assert "1 psi more for each 2,000 ft" in CAUTIONS["preserve"]
