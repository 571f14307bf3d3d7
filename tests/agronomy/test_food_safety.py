"""Manure, canning pressure, soil lead, a season's target."""

from datetime import date

import pytest
from refused import assert_bounds

from lifecycle.agronomy.food_safety import (
    canning_pressure,
    earliest_harvest,
    lead_flagged,
    season_target,
)

STEPS = [(600.0, 11.0), (1200.0, 12.0)]


def test_harvest_after_manure():
    assert earliest_harvest(date(2026, 3, 1), touches_soil=False) == date(2026, 5, 30)
    assert earliest_harvest(date(2026, 3, 1), touches_soil=True) == date(2026, 6, 29)


@pytest.mark.parametrize(
    ("altitude", "pressure"), [(-430, 11), (0, 11), (600, 11), (600.1, 12), (1200, 12)]
)
def test_pressure_by_altitude(altitude, pressure):
    assert canning_pressure(altitude, STEPS) == pressure


def test_beyond_the_recipe_nothing_is_said():
    assert_bounds(lambda x: canning_pressure(x, STEPS), "The altitude", -430, 1200, "m")


def test_lead_at_the_level_is_flagged():
    assert lead_flagged(200, 200)
    assert not lead_flagged(199.9, 200)
    assert_bounds(lambda x: lead_flagged(x, 100), "Lead in the soil", 0, 1e6, "ppm")
    assert_bounds(lambda x: lead_flagged(1, x), "The screening level", 1, 1e5, "ppm")


def test_target_of_a_season():
    assert season_target(20, 2.5) == 50
    assert_bounds(lambda x: season_target(x, 1), "The area", 0.01, 1e6, "m2")
    assert_bounds(lambda x: season_target(1, x), "The yield", 0, 100, "kg per m2")
