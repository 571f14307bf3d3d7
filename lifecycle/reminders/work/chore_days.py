"""One chore as the work list plans it: the days it is wanted on, and what its tasks say."""

from collections.abc import Container, Iterable
from datetime import date, timedelta

from lifecycle.care.chore_words import repeat_words
from lifecycle.care.chores import (
    ANCHORED,
    HALF_YEAR,
    anchor_of,
    anchor_reason,
    days_of,
    settles,
    turn_of,
)
from lifecycle.care.steps import Window
from lifecycle.life.phases import Phase
from lifecycle.models import Chore, Task
from lifecycle.records.work.chores import facts_of
from lifecycle.reminders.work.planning import LOOK_AHEAD_DAYS, ClimateInUse

LATE_FOR = timedelta(days=45)
"""For so long after its last day a missed chore is still made a task of."""

LOOK_BACK = timedelta(days=400)
OWN_SOURCE = "The garden’s own list of chores"
Slot = tuple[int, int]
"""Calendar year and day of the year."""


def slot_of(window: Window) -> Slot:
    """Return the identity of a window within its chore."""
    return window.best.year, window.best.timetuple().tm_yday


class PlannedChore:
    """One chore and the days on which it stands in the work list."""

    def __init__(self, chore: Chore, climate: ClimateInUse | None, today: date) -> None:
        self.chore, self.today = chore, today
        self.dates = climate.dates if climate is not None else None
        self.basis = climate.basis if climate is not None else ""
        self.days = facts_of(chore)
        self.anchored = self.days.repeat in ANCHORED
        self.over = chore.ended_at is not None or (
            chore.plant is not None and chore.plant.phase == Phase.ENDED
        )

    def windows(self, first: date, last: date) -> list[Window]:
        """Return the windows of its days between two days."""
        return [] if self.over else days_of(self.days, first, last, self.dates)

    def wanted(self) -> list[Window]:
        """Return the last of the days past, if it is not too late for it, and those ahead."""
        past = self.windows(self.today - LOOK_BACK, self.today)[-1:]
        ahead = self.windows(self.today + timedelta(1), self.today + timedelta(LOOK_AHEAD_DAYS))
        return [each for each in past if not self._too_late(each)] + ahead

    def _too_late(self, window: Window) -> bool:
        """Whether it is too late to make a task of a day that is past."""
        turn = turn_of(self.days, window.best, self.dates) if self.anchored else None
        helps_until = window.latest if turn is None else turn.helps_until
        return max(window.latest + LATE_FOR, helps_until) < self.today

    def done_for(self, window: Window, tasks: Iterable[Task]) -> bool:
        """Whether an anchored chore was settled already in the year of a window."""
        return self.anchored and any(
            settles(self.days, task.best, window.best, self.dates)
            for task in tasks
            if task.state in (Task.State.DONE, Task.State.CANNOT)
        )

    def own(self, task: Task) -> Window | None:
        """Return the window of a task's own day; None: the chore does not fall on it now."""
        return next(iter(self.windows(task.best, task.best)), None)

    def hangs_on_freeze(self, task: Task) -> bool:
        """Whether a task got its day from a freeze, and the chore still does."""
        return self.anchored and task.source != OWN_SOURCE

    def _near(self, task: Task) -> list[Window]:
        return self.windows(task.best - HALF_YEAR, task.best + HALF_YEAR)

    def moved_to(self, task: Task, taken: Container[Slot], tasks: Iterable[Task]) -> Window | None:
        """Return where its freeze moved the day of a task, however far ahead or past."""
        free = [
            each
            for each in self._near(task)
            if slot_of(each) not in taken and not self.done_for(each, tasks)
        ]
        return min(free, key=lambda each: abs(each.best - task.best), default=None)

    def stays(self, task: Task) -> bool:
        """Whether a task whose freeze has no day for it stays as it was.

        Nobody changed the chore so that it would not fall then: only what is known of the
        freeze changed.
        """
        if not self.hangs_on_freeze(task) or self.over or self._without_freeze():
            return False
        within = self.chore.first_day <= task.best <= (self.chore.last_day or date.max)
        return within and not self._near(task)

    def next_came(self, task: Task, own: Window | None, come: date) -> bool:
        """Whether an open task gives way to the last day that has come, ``come``."""
        if own is not None:
            return task.best < come
        # Within half a year it is the same year's, moved.
        return self.anchored and task.best + HALF_YEAR < come

    def _without_freeze(self) -> bool:
        return self.dates is not None and anchor_of(self.days.repeat, self.dates) is None

    def fill(self, task: Task, window: Window) -> None:
        """Set what a task says of its day."""
        task.site_id = self.chore.site_id
        task.growing_year, task.number = slot_of(window)
        task.earliest, task.best, task.latest = window.earliest, window.best, window.latest
        task.counts_from = window.earliest
        task.reason, task.source = self._why(window)

    def differs(self, task: Task, window: Window) -> bool:
        """Whether a task of this day says something else than it should."""
        said = (task.site_id, task.earliest, task.latest, task.reason)
        return said != (
            self.chore.site_id,
            window.earliest,
            window.latest,
            self._why(window)[0],
        )

    def _why(self, window: Window) -> tuple[str, str]:
        if self.anchored and self.dates is not None:
            reason = anchor_reason(self.days, window.best, self.dates)
            return reason, f"The climate of this site, {self.basis}"
        return repeat_words(self.days, self.chore.at_time), OWN_SOURCE

    def why_gone(self, task: Task) -> str:
        """Return why a task has no place in the work list any more."""
        if self.chore.ended_at is not None:
            return "The chore was ended."
        if self.over:
            return "The plant it was for has ended."
        if self.anchored and self._without_freeze():
            return "By the climate now in use the site has no hard freeze in nine years of ten."
        if self.hangs_on_freeze(task) and self._near(task):
            return "The day of the freeze moved, and another task stands for this year."
        return "The chore was changed and does not fall on this day any more."
