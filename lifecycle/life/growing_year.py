"""Growing years: named by the calendar year in which they begin."""

from datetime import date


def growing_year_of(day: date, starts_in: int) -> int:
    """Return the growing year that ``day`` belongs to when years start in month ``starts_in``.

    A winter belongs to the growing year it ends: with a January start, the frosts of
    November belong to the year that is closing; a step of that winter keeps the year of
    its autumn even when it falls due after New Year (see ``care``).
    """
    return day.year if day.month >= starts_in else day.year - 1


def growing_year_start(year: int, starts_in: int) -> date:
    """Return the first day of growing year ``year``."""
    return date(year, starts_in, 1)
