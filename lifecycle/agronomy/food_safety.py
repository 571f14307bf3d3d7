"""A few limits that keep produce fit to eat: manure, canning pressure, soil lead; and a target.

They are screens, not advice: local health rules, the extension office and the tested recipe at
hand go before them.
"""

from collections.abc import Sequence
from datetime import date, timedelta

from lifecycle.agronomy.bounds import number_within

_DAYS_SOIL_CONTACT, _DAYS_OFF_SOIL = 120, 90
_LOWEST_M = -430.0


def earliest_harvest(manured: date, touches_soil: bool) -> date:
    """First day to harvest after raw manure was dug in (7 CFR 205.203(c), by USDA AMS).

    120 days where the part that is eaten touches the soil or is splashed by it, else 90.
    """
    return manured + timedelta(days=_DAYS_SOIL_CONTACT if touches_soil else _DAYS_OFF_SOIL)


def canning_pressure(altitude_m: float, steps: Sequence[tuple[float, float]]) -> float:
    """Pressure of a recipe at an altitude, in the recipe's own unit.

    `steps` pairs the altitude in m up to which a pressure holds, itself included, with that
    pressure, rising. ValueError above the last step and below any land.
    """
    altitude = number_within("The altitude", altitude_m, _LOWEST_M, steps[-1][0], "m")
    return next(pressure for highest, pressure in steps if altitude <= highest)


def lead_flagged(found_ppm: float, level_ppm: float) -> bool:
    """Whether soil lead is at or above a screening level, both in ppm (mg per kg of dry soil).

    The level depends on the edition of the rule; say which one with the answer. A flag means: ask
    the health department before growing food in this soil.
    """
    found = number_within("Lead in the soil", found_ppm, 0, 1e6, "ppm")
    return found >= number_within("The screening level", level_ppm, 1, 1e5, "ppm")


def season_target(area_m2: float, kg_per_m2: float) -> float:
    """Kilograms to hope for in a season from an area, at a rate in kg per m2."""
    area = number_within("The area", area_m2, 0.01, 1e6, "m2")
    return area * number_within("The yield", kg_per_m2, 0, 100, "kg per m2")
