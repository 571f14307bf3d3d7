"""On which days a chore falls: once, again and again, or set off from the site's hard freeze.

Days are local days of the site, so no change of the clocks moves them. Months are counted from
the first day, not from the one before, so that a 31st comes back after a shorter month. A chore
set off from a freeze that begins after its best day is due on its first day while it still helps.
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

FIRST_YEAR, LAST_YEAR = date.min.year + 2, date.max.year - 2
HALF_YEAR = timedelta(days=180)

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
SIDE = {Repeat.HARD_FREEZE: -1, Repeat.LAST_HARD_FREEZE: 1}
"""Before the first hard freeze of a winter, after the last."""


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


@dataclass(frozen=True, slots=True)
class Turn:
    """One year of an anchored chore: the freeze it hangs on, its best and its last day.

    On ``helps_until`` at the latest it is still worth doing: before the winter that is as long
    as a hard freeze can come, after it as long as its window is open.
    """

    freeze: date
    best: date
    latest: date
    helps_until: date

    def window(self, first_day: date) -> Window | None:
        """Return when it is due where the chore begins on ``first_day``; None: it came too late."""
        if self.best >= first_day:
            return Window(self.best, self.best, self.latest)
        if first_day <= self.helps_until:
            return Window(first_day, first_day, max(self.latest, first_day))
        return None


def days_of(chore: ChoreDays, first: date, last: date, dates: SiteDates | None) -> list[Window]:
    """Return the windows whose best day lies from ``first`` to ``last``, in order.

    An anchored chore has none where the site has no hard freeze, or ``dates`` are not known.
    """
    first = max(first, chore.first_day)
    last = min(last, chore.last_day) if chore.last_day is not None else last
    if last < first:
        return []
    if chore.repeat in ANCHORED:
        turns = (turn.window(chore.first_day) for turn in _turns(chore, first, last, dates))
        return [each for each in turns if each is not None and first <= each.best <= last]
    found = (day for day in _around(chore, first, last) if first <= day <= last)
    return [Window(day, day, day + timedelta(chore.days_open)) for day in found]


def _around(chore: ChoreDays, first: date, last: date) -> Iterator[date]:
    """Return days of a chore in order, at the least all from ``first`` to ``last``."""
    if chore.repeat is Repeat.ONCE:
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


def _turns(chore: ChoreDays, first: date, last: date, dates: SiteDates | None) -> Iterator[Turn]:
    """Return the turns of an anchored chore in order, all that can be due in these days."""
    anchor = anchor_of(chore.repeat, dates)
    if anchor is None or dates is None:
        return
    # Set off by less than a year, and due for less than one more.
    for year in range(max(first.year - 2, FIRST_YEAR), min(last.year + 1, LAST_YEAR) + 1):
        yield _turn(chore, anchor, year, dates)


def _turn(chore: ChoreDays, anchor: MonthDay, year: int, dates: SiteDates) -> Turn:
    freeze = _in_year(anchor, year)
    best = freeze + timedelta(chore.from_anchor)
    latest = best + timedelta(chore.days_open)
    helps = max(latest, freeze)
    if chore.repeat is Repeat.HARD_FREEZE and chore.from_anchor <= 0:
        helps = max(helps, _winter_ends(freeze, dates))
    next_best = _in_year(anchor, year + 1) + timedelta(chore.from_anchor)
    return Turn(freeze, best, latest, min(helps, next_best - timedelta(1)))


def _winter_ends(freeze: date, dates: SiteDates) -> date:
    """Return the last hard freeze of the winter that begins with ``freeze``."""
    if dates.last_hard_freeze is None:
        return freeze
    same_year = _in_year(dates.last_hard_freeze, freeze.year)
    return same_year if same_year >= freeze else _in_year(dates.last_hard_freeze, freeze.year + 1)


def turn_of(chore: ChoreDays, best: date, dates: SiteDates | None) -> Turn | None:
    """Return the turn of an anchored chore that is due best on ``best``."""
    for turn in _turns(chore, best, best, dates):
        window = turn.window(chore.first_day)
        if window is not None and window.best == best:
            return turn
    return None


def settles(chore: ChoreDays, done_for: date, best: date, dates: SiteDates | None) -> bool:
    """Whether an anchored chore that was done for one day was done for the turn due on ``best``.

    A day in the winter before belongs to that winter; any other to the turn within half a year,
    so that a chore done once stays done wherever its freeze moves.
    """
    anchor, turn = anchor_of(chore.repeat, dates), turn_of(chore, best, dates)
    if anchor is None or dates is None or turn is None:
        return False
    before = _turn(chore, anchor, turn.freeze.year - 1, dates)
    begins = max(turn.best - HALF_YEAR, before.helps_until + timedelta(1))
    return begins <= done_for <= max(turn.best + HALF_YEAR, turn.helps_until)


def anchor_of(repeat: Repeat, dates: SiteDates | None) -> MonthDay | None:
    """Return the day of the year an anchored chore is set off from; None: the site has none.

    In one year of ten the first hard freeze comes before its day, or the last after it.
    """
    if dates is None:
        return None
    return dates.first_hard_freeze if repeat is Repeat.HARD_FREEZE else dates.last_hard_freeze


def is_on_wrong_side(repeat: Repeat, from_anchor: int) -> bool:
    """Return whether days lie after a first hard freeze, which is too late, or before a last."""
    return SIDE.get(repeat, 0) * from_anchor < 0


def _in_year(day: MonthDay, year: int) -> date:
    month, number = day
    return date(year, month, min(number, monthrange(year, month)[1]))


def anchor_reason(chore: ChoreDays, day: date, dates: SiteDates) -> str:
    """Return why an anchored chore falls on ``day``, its numbers between braces.

    ValueError for a day on which it does not fall.
    """
    turn = turn_of(chore, day, dates)
    if turn is None:
        raise ValueError(f"The chore does not fall on {day}.")
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
        f"{off} {{{turn.freeze}}}: {told} {{{limit:.2f} C}} or colder."
        f"{stands if dates.light_for_hard else ''}{_late_start(turn, day)}"
    )


def _late_start(turn: Turn, day: date) -> str:
    """Return why a chore that began after its best day is due all the same."""
    if day == turn.best:
        return ""
    if day <= max(turn.freeze, turn.latest):
        return f" That day, {{{turn.best}}}, was past when the chore began, so it is due at once."
    return (
        f" Both days were past when the chore began, but until {{{turn.helps_until}}} such a night"
        " can come, so it is due at once."
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
