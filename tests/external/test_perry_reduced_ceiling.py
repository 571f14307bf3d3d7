"""The reduced ceiling of Perry & Wehner 1996, HortTechnology 6(1):27, worked out for cucumber."""

import pytest

from lifecycle.agronomy.heat_units import Method, day_units


@pytest.mark.parametrize(("tmax", "expected"), [(80, 20), (95, 25)])
def test_base_60_ceiling_90(tmax, expected):
    assert day_units(55, tmax, Method.REDUCED_CEILING, 60, 90) == expected
