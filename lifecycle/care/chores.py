"""On which days a chore falls: once, again and again, or set off from the site's hard freeze.

Days are local days of the site, so no change of the clocks moves them. Months are counted from
the first day, not from the one before, so that a 31st comes back after a shorter month.
"""

from calendar import monthrange
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from lifecycle.agronomy.daily_record import celsius
from lifecycle.care.site_dates import MonthDay, SiteDates
from lifecycle.care.steps import Window
from lifecycle.handbook import STARTERS, Starter

HARD_FREEZE_F, LIGHT_FREEZE_F = 28, 32
"""Degrees F of a hard freeze and of any: National Weather Service."""

_CAUTION_OF_SKILL = {
    "ladder": "ladder",
    "sprayer": "pesticide",
    "lifting": "lifting",
    "water": "water_main",
}


class Repeat(StrEnum):
    """How often a chore comes."""

    ONCE = "once"
    DAYS = "days"
    WEEKS = "weeks"
    MONTHS = "months"
    YEARS = "years"
    HARD_FREEZE = "hard_freeze"
    LAST_HARD_FREEZE = "last_freeze"


ANCHORED = frozenset({Repeat.HARD_FREEZE, Repeat.LAST_HARD_FREEZE})


@dataclass(frozen=True, slots=True)
class ChoreDays:
    """When a chore falls. ``first_day`` is its first day; none falls after ``last_day``.

    ``every`` counts days, weeks, months or years. An anchored one falls ``from_anchor`` days
    from its hard freeze every year. It may be done until ``days_open`` days later.
    """

    repeat: Repeat
    first_day: date
    last_day: date | None = None
    every: int = 1
    from_anchor: int = 0
    days_open: int = 0


def days_of(chore: ChoreDays, first: date, last: date, dates: SiteDates | None) -> list[Window]:
    """Return the windows whose best day lies from ``first`` to ``last``, in order.

    An anchored chore has none where the site has no hard freeze, or ``dates`` are not known.
    """
    first = max(first, chore.first_day)
    last = min(last, chore.last_day) if chore.last_day is not None else last
    if last < first:
        return []
    found = (day for day in _around(chore, first, last, dates) if first <= day <= last)
    return [Window(day, day, day + timedelta(chore.days_open)) for day in found]


def _around(chore: ChoreDays, first: date, last: date, dates: SiteDates | None) -> Iterator[date]:
    """Return days of a chore in order, at the least all from ``first`` to ``last``."""
    if chore.repeat in ANCHORED:
        yield from _anchored(chore, first, last, dates)
    elif chore.repeat is Repeat.ONCE:
        yield chore.first_day
    elif chore.repeat in (Repeat.DAYS, Repeat.WEEKS):
        step = chore.every * (7 if chore.repeat is Repeat.WEEKS else 1)
        begun = max((first - chore.first_day).days // step, 0)
        ended = (last - chore.first_day).days // step
        for number in range(begun, ended + 1):
            yield chore.first_day + timedelta(number * step)
    else:
        step = chore.every * (12 if chore.repeat is Repeat.YEARS else 1)
        begun = max(_months(chore.first_day, first) // step - 1, 0)
        ended = _months(chore.first_day, last) // step
        for number in range(begun, ended + 1):
            yield months_after(chore.first_day, number * step)


def _months(start: date, end: date) -> int:
    return (end.year - start.year) * 12 + end.month - start.month


def months_after(day: date, months: int) -> date:
    """Return the day so many months on; in a shorter month its last day."""
    count = day.month - 1 + months
    year, month = day.year + count // 12, count % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def _anchored(chore: ChoreDays, first: date, last: date, dates: SiteDates | None) -> Iterator[date]:
    anchor = anchor_of(chore.repeat, dates)
    if anchor is None:
        return
    # Set off by less than a year, a day belongs to this year's freeze or a neighbouring one.
    for year in range(max(first.year - 1, date.min.year), min(last.year + 1, date.max.year) + 1):
        yield _in_year(anchor, year) + timedelta(chore.from_anchor)


def anchor_of(repeat: Repeat, dates: SiteDates | None) -> MonthDay | None:
    """Return the day of the year an anchored chore is set off from; None: the site has none.

    In one year of ten the first hard freeze comes before its day, or the last after it.
    """
    if dates is None:
        return None
    return dates.first_hard_freeze if repeat is Repeat.HARD_FREEZE else dates.last_hard_freeze


def _in_year(day: MonthDay, year: int) -> date:
    month, number = day
    return date(year, month, min(number, monthrange(year, month)[1]))


def anchor_reason(chore: ChoreDays, day: date, dates: SiteDates) -> str:
    """Return why an anchored chore falls on ``day``, its numbers between braces."""
    freeze = day - timedelta(chore.from_anchor)
    number = abs(chore.from_anchor)
    side = "before" if chore.from_anchor < 0 else "after"
    off = f"{number} day{'' if number == 1 else 's'} {side}" if number else "On"
    limit = celsius(LIGHT_FREEZE_F if dates.light_for_hard else HARD_FREEZE_F)
    if chore.repeat is Repeat.HARD_FREEZE:
        told = "by then one year in ten has had its first night of"
    else:
        told = "after it one year in ten still has a night of"
    stands = " The day of a hard freeze is not known here; this one stands for it."
    return (
        f"{off} {{{freeze}}}: {told} {{{limit:.2f} C}} or colder."
        f"{stands if dates.light_for_hard else ''}"
    )


def cautions_of(starter: str, skill: str) -> tuple[str, ...]:
    """Return the keys of what can hurt at a chore, by its starter and the skill it asks for."""
    own = STARTERS[starter].cautions if starter in STARTERS else ()
    by_skill = (_CAUTION_OF_SKILL[skill],) if skill in _CAUTION_OF_SKILL else ()
    return tuple(dict.fromkeys((*by_skill, *own)))


def first_day_of(starter: Starter, today: date, *, southern: bool) -> date:
    """Return the first day of a chore picked today: in its month, or today where it has none."""
    if starter.month is None:
        return today
    month = (starter.month + 5) % 12 + 1 if southern else starter.month
    this_year = date(today.year, month, 1)
    return this_year if this_year >= today else date(today.year + 1, month, 1)
