"""Weights of a harvest and time given, as the reader reads them."""

from lifecycle.care.wording import GRAMS_IN_OUNCE
from lifecycle.models import Person

OUNCES_IN_POUND = 16


def weight(grams: float, person: Person) -> str:
    """Return "340 g" or "12.4 kg", or ounces and pounds for who measures in inches."""
    if person.length == Person.Length.INCHES:
        ounces = grams / GRAMS_IN_OUNCE
        if ounces < OUNCES_IN_POUND:
            return f"{round(ounces, 1):g} oz"
        return f"{ounces / OUNCES_IN_POUND:,.1f}".removesuffix(".0") + " lb"
    if grams < 1000:
        return f"{grams:.0f} g"
    return f"{_plain(grams / 1000)} kg"


def _plain(kilograms: float) -> str:
    text = f"{kilograms:,.2f}" if kilograms < 100 else f"{kilograms:,.1f}"
    return text.rstrip("0").rstrip(".")


def hours_words(minutes: int) -> str:
    """Return "45 min", "2 h" or "2 h 5 min"."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours:,} h {rest} min" if rest else f"{hours:,} h"
