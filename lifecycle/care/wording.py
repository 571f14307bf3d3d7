"""Numbers in a sentence, in the reader's units.

Reasons carry their numbers in SI between braces: ``{12.78 C}``, ``{10.2 cm}``,
``{2026-05-12}``. Only here do they become what a person reads.
"""

import re
from datetime import date

_TOKEN = re.compile(r"\{(-?[0-9.]+) (C|cm)\}|\{(\d{4}-\d{2}-\d{2})\}")


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
        return degrees(value, temperature) if unit == "C" else centimetres(value, length)

    return _TOKEN.sub(write, text)


def degrees(value_c: float, unit: str) -> str:
    """Return a temperature given in C as a person reads it, to the whole degree in F."""
    text = f"{value_c * 1.8 + 32:.0f}" if unit == "F" else f"{value_c:.1f}".removesuffix(".0")
    return f"{'0' if text == '-0' else text} °{'F' if unit == 'F' else 'C'}".replace("-", "−")


def centimetres(value_cm: float, unit: str) -> str:
    """Return a length given in cm as a person reads it."""
    if unit == "in":
        return f"{value_cm / 2.54:.0f} in"
    return f"{value_cm:.0f} cm"


def short_date(day: date, around: date | None = None) -> str:
    """Return a date with the month as a word; the year only where it is another one."""
    text = f"{day.day} {day:%B}"
    return text if around is not None and day.year == around.year else f"{text} {day.year}"
