"""Two half-zones in degrees F, as Virginia Cooperative Extension prints them (426-331)."""

import pytest

from lifecycle.agronomy.hardiness import half_zone, half_zone_edges_f
from lifecycle.care.site_dates import zone_edge_c


@pytest.mark.parametrize(("name", "low_f", "high_f"), [("5b", -15, -10), ("8b", 15, 20)])
def test_minima_of_a_half_zone(name: str, low_f: int, high_f: int) -> None:
    assert half_zone_edges_f(name) == (low_f, high_f)
    assert (half_zone(low_f), half_zone(high_f - 0.1)) == (name, name)
    assert half_zone(low_f - 0.1) != name
    # A zone that was typed stands for its lower edge.
    assert zone_edge_c(name) == pytest.approx((low_f - 32) / 1.8)
