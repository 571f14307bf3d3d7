"""How often a chore comes, in words."""

from datetime import time

from lifecycle.care.chores import ChoreDays, Repeat

_UNITS = {
    Repeat.DAYS: "day",
    Repeat.WEEKS: "week",
    Repeat.MONTHS: "month",
    Repeat.YEARS: "year",
}
LEAST_MONTH = 28
"""Every month has a day of this number."""


def repeat_words(chore: ChoreDays, at_time: time | None = None) -> str:
    """Return how often a chore comes, and at what time: "Every 2 weeks, on Mondays, at 18:00."."""
    said = _often(chore)
    return f"{said}, at {at_time:%H:%M}." if at_time is not None else f"{said}."


def _often(chore: ChoreDays) -> str:
    if chore.repeat is Repeat.ONCE:
        return "Once"
    if chore.repeat in (Repeat.HARD_FREEZE, Repeat.LAST_HARD_FREEZE):
        return _by_freeze(chore)
    unit = _UNITS[chore.repeat]
    every = f"Every {unit}" if chore.every == 1 else f"Every {chore.every} {unit}s"
    day = chore.first_day
    if chore.repeat is Repeat.WEEKS:
        return f"{every}, on {day:%A}s"
    if chore.repeat is Repeat.MONTHS:
        return f"{every}, on day {day.day}{' or its last' if day.day > LEAST_MONTH else ''}"
    if chore.repeat is Repeat.YEARS:
        return f"{every}, on {day.day} {day:%B}"
    return every


def _by_freeze(chore: ChoreDays) -> str:
    which = "first" if chore.repeat is Repeat.HARD_FREEZE else "last"
    number = abs(chore.from_anchor)
    if not number:
        return f"Every year, on the day of the {which} hard freeze"
    side = "before" if chore.from_anchor < 0 else "after"
    return f"Every year, {number} day{'' if number == 1 else 's'} {side} the {which} hard freeze"
