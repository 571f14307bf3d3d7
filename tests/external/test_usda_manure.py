"""Raw manure before harvest: USDA AMS, Manures & composts, after 7 CFR 205.203(c)."""

from datetime import date

from lifecycle.agronomy.food_safety import earliest_harvest


def test_manure_dug_in_on_the_first_of_march():
    assert earliest_harvest(date(2026, 3, 1), touches_soil=False) == date(2026, 5, 30)
    assert earliest_harvest(date(2026, 3, 1), touches_soil=True) == date(2026, 6, 29)
