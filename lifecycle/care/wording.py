"""Numbers in a sentence, in the reader's units.

Reasons carry their numbers in SI between braces: ``{12.78 C}``, ``{10.2 cm}``, ``{12 mm}``
(of water), ``{3.8 g/m2}``, ``{2.4 m2}``, ``{5 litre}``, ``{30 g}``, ``{2026-05-12}``. Only here do
they become what a person reads.
"""

import re
from datetime import date

_TOKEN = re.compile(r"\{(-?[0-9.]+) (C|cm|mm|m2|g/m2|litre|g)\}|\{(\d{4}-\d{2}-\d{2})\}")

CM_IN_INCH = 2.54
SQ_FT_IN_M2 = 10.763910417
GRAMS_IN_OUNCE = 28.349523125
LITRES_IN_GALLON = 3.785411784
"""The US gallon."""


def in_units(
    text: str, temperature: str = "C", length: str = "cm", around: date | None = None
) -> str:
    """Return ``text`` with its braces written out.

    ``temperature`` is "C" or "F", ``length`` "cm" or "in". Dates of the year of
    ``around`` are written without the year.
    """

    def write(match: re.Match[str]) -> str:
        number, unit, day = match.groups()
        if day:
            return short_date(date.fromisoformat(day), around)
        value = float(number)
        return degrees(value, temperature) if unit == "C" else measure(value, unit, length)

    return _TOKEN.sub(write, text)


def measure(value: float, unit: str, length: str) -> str:
    """Return an amount as a person reads it who measures in "cm" or "in".

    ``unit`` is cm, mm (of water), m2, g/m2, litre or g. Raises KeyError for another one.
    """
    if unit == "cm":
        return centimetres(value, length)
    if length == "in":
        factor, name, digits = _IN_FEET[unit]
        return f"{_plain(value * factor, digits)} {name}"
    name, digits = _IN_METRES[unit]
    return f"{_plain(value, digits)} {name}"


_IN_METRES = {
    "mm": ("mm", 0),
    "m2": ("m²", 1),
    "g/m2": ("g/m²", 1),
    "litre": ("litres", 1),
    "g": ("g", 0),
}
_IN_FEET = {
    "mm": (0.1 / CM_IN_INCH, "in", 1),
    "m2": (SQ_FT_IN_M2, "sq ft", 0),
    # Garden rates are given for ten square feet or a multiple of it.
    "g/m2": (10 / SQ_FT_IN_M2 / GRAMS_IN_OUNCE, "oz/10 sq ft", 2),
    "litre": (1 / LITRES_IN_GALLON, "gal", 1),
    "g": (1 / GRAMS_IN_OUNCE, "oz", 1),
}


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def degrees(value_c: float, unit: str) -> str:
    """Return a temperature given in C as a person reads it, to the whole degree in F."""
    text = f"{value_c * 1.8 + 32:.0f}" if unit == "F" else f"{value_c:.1f}".removesuffix(".0")
    return f"{'0' if text == '-0' else text} °{'F' if unit == 'F' else 'C'}".replace("-", "−")


def centimetres(value_cm: float, unit: str) -> str:
    """Return a length given in cm as a person reads it."""
    if unit == "in":
        return f"{value_cm / CM_IN_INCH:.0f} in"
    return f"{value_cm:.0f} cm"


def short_date(day: date, around: date | None = None) -> str:
    """Return a date with the month as a word; the year only where it is another one."""
    text = f"{day.day} {day:%B}"
    return text if around is not None and day.year == around.year else f"{text} {day.year}"
