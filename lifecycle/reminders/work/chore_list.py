"""Chores become tasks when they come within the look-ahead.

A function of the database and ``now``, as ``worklist`` is for steps: a task carries its chore and
its day as a unique key. Of the days that are past only the last one stands: a chore that nobody
did is not piled up, and after a standstill what was missed meanwhile is one task.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from lifecycle.care.chore_words import repeat_words
from lifecycle.care.chores import ANCHORED, anchor_reason, days_of
from lifecycle.care.steps import Window
from lifecycle.life.phases import Phase
from lifecycle.models import Chore, Site, Task, TaskEvent
from lifecycle.records.work.chores import facts_of
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note, note_moved, note_withdrawn
from lifecycle.reminders.work.planning import LOOK_AHEAD_DAYS, ClimateInUse, climate_of

LATE_FOR = timedelta(days=45)
"""For so long after its last day a missed chore is still made a task of."""

LOOK_BACK = timedelta(days=400)
SAME_YEAR = timedelta(days=180)
"""An anchored chore done nearer than this was done for the year, wherever its day moves."""

NEXT_CAME = "Its next time has come."
OWN_SOURCE = "The garden’s own list of chores"
Slot = tuple[int, int]
"""Calendar year and day of the year."""


@dataclass(slots=True)
class Changes:
    """What one look does to the tasks of chores; those ``moved`` are among the changed."""

    new: list[Task] = field(default_factory=list)
    changed: list[Task] = field(default_factory=list)
    moved: list[Task] = field(default_factory=list)
    opened: list[Task] = field(default_factory=list)
    withdrawn: list[Task] = field(default_factory=list)

    @property
    def number(self) -> int:
        """How many tasks change."""
        return len(self.new) + len(self.changed) + len(self.opened) + len(self.withdrawn)


def plan_chores(*, now: datetime) -> int:
    """Bring the tasks of every garden's chores up to date; returns how many changed."""
    with_chores = Chore.objects.filter(_alive(), site=OuterRef("pk"))
    sites = Site.objects.filter(Exists(with_chores)).order_by("pk")
    return sum(plan_site_chores(site, now=now) for site in sites)


def plan_site_chores(site: Site, *, now: datetime) -> int:
    """Bring the tasks of one site's chores up to date; returns how many changed."""
    today = site.local_day(now)
    alive = Chore.objects.filter(_alive(), site=site).order_by("pk")
    chores = list(alive.select_related("plant"))
    climate = climate_of(site) if any(each.repeat in ANCHORED for each in chores) else None
    if not _compare(chores, _tasks(chores, today), climate, today, now).number:
        return 0
    with transaction.atomic():
        # One planner at a time; what was compared before the lock is compared again.
        list(alive.select_for_update(of=("self",)).values_list("pk"))
        chores = list(alive.select_related("plant"))
        tasks = _tasks(chores, today, lock=True)
        changes = _compare(chores, tasks, climate, today, now)
        _write(changes, now)
    return changes.number


def _alive() -> Q:
    """Return the condition that a chore goes on, or has tasks left to withdraw."""
    left = Task.objects.filter(chore=OuterRef("pk"), state=Task.State.OPEN)
    return Q(ended_at__isnull=True) | Q(Exists(left))


def _tasks(chores: Sequence[Chore], today: date, *, lock: bool = False) -> dict[int, list[Task]]:
    """Return the tasks of chores that may still matter, by chore and day."""
    rows = Task.objects.filter(
        Q(state=Task.State.OPEN) | Q(best__gte=today - LOOK_BACK), chore__in=chores
    )
    found: dict[int, list[Task]] = {chore.pk: [] for chore in chores}
    # By number where they are locked, as everywhere.
    for task in rows.select_for_update().order_by("pk") if lock else rows.order_by("pk"):
        assert task.chore_id is not None
        found[task.chore_id].append(task)
    return {pk: sorted(tasks, key=lambda task: task.best) for pk, tasks in found.items()}


def _compare(
    chores: Iterable[Chore],
    tasks: dict[int, list[Task]],
    climate: ClimateInUse | None,
    today: date,
    now: datetime,
) -> Changes:
    changes = Changes()
    for chore in chores:
        _compare_one(_Planned(chore, climate, today), tasks[chore.pk], changes, now)
    return changes


class _Planned:
    """One chore and the days on which it stands in the work list."""

    def __init__(self, chore: Chore, climate: ClimateInUse | None, today: date) -> None:
        self.chore, self.today = chore, today
        self.dates = climate.dates if climate is not None else None
        self.basis = climate.basis if climate is not None else ""
        self.days = facts_of(chore)
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
        return [each for each in past if each.latest + LATE_FOR >= self.today] + ahead

    def done_for(self, window: Window, tasks: Iterable[Task]) -> bool:
        """Whether an anchored chore was settled already in the year of a window."""
        return self.days.repeat in ANCHORED and any(
            abs(task.best - window.best) < SAME_YEAR
            for task in tasks
            if task.state in (Task.State.DONE, Task.State.CANNOT)
        )

    def fill(self, task: Task, window: Window) -> None:
        """Set what a task says of its day."""
        task.site_id = self.chore.site_id
        task.growing_year, task.number = _slot(window)
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
        if self.days.repeat in ANCHORED and self.dates is not None:
            reason = anchor_reason(self.days, window.best, self.dates)
            return reason, f"The climate of this site, {self.basis}"
        return repeat_words(self.days, self.chore.at_time), OWN_SOURCE

    def why_gone(self) -> str:
        """Return why a task has no place in the work list any more."""
        if self.chore.ended_at is not None:
            return "The chore was ended."
        if self.over:
            return "The plant it was for has ended."
        return "The chore was changed and does not fall on this day any more."


def _slot(window: Window) -> Slot:
    return window.best.year, window.best.timetuple().tm_yday


def _compare_one(planned: _Planned, tasks: list[Task], changes: Changes, now: datetime) -> None:
    wanted = {
        _slot(window): window for window in planned.wanted() if not planned.done_for(window, tasks)
    }
    there = {(task.growing_year, task.number): task for task in tasks}
    free = [window for slot, window in wanted.items() if slot not in there]
    for slot, window in wanted.items():
        task = there.get(slot)
        if task is not None:
            _keep(planned, task, window, changes)
    lost = []
    for slot, task in there.items():
        if task.state != Task.State.OPEN or slot in wanted:
            continue
        # A day it still falls on is past, and a later one has come.
        if planned.windows(task.best, task.best):
            _withdraw(task, NEXT_CAME, changes, now)
        else:
            lost.append(task)
    for task, window in zip(lost, free, strict=False):
        changes.moved.append(task)
        task.moved_from, task.moved_on = task.best, planned.today
        planned.fill(task, window)
        changes.changed.append(task)
    for task in lost[len(free) :]:
        _withdraw(task, planned.why_gone(), changes, now)
    for window in free[len(lost) :]:
        made = Task(
            garden_id=planned.chore.garden_id, chore=planned.chore, kind=Task.CHORE, made_at=now
        )
        planned.fill(made, window)
        changes.new.append(made)


def _keep(planned: _Planned, task: Task, window: Window, changes: Changes) -> None:
    if task.state == Task.State.WITHDRAWN:
        task.state, task.closed_at, task.closed_why = Task.State.OPEN, None, ""
        planned.fill(task, window)
        changes.opened.append(task)
    elif task.state == Task.State.OPEN and planned.differs(task, window):
        planned.fill(task, window)
        changes.changed.append(task)


def _withdraw(task: Task, why: str, changes: Changes, now: datetime) -> None:
    task.state, task.closed_at, task.closed_why = Task.State.WITHDRAWN, now, why
    changes.withdrawn.append(task)


_DAY = ["site", "growing_year", "number", "earliest", "best", "latest", "counts_from"]
_SAID = [*_DAY, "reason", "source", "moved_from", "moved_on"]
_STATE = ["state", "closed_at", "closed_why"]


def _write(changes: Changes, now: datetime) -> None:
    """Write the changes of locked tasks, and what happened to each."""
    Task.objects.bulk_create(changes.new, ignore_conflicts=True)
    Task.objects.bulk_update(changes.changed, _SAID)
    Task.objects.bulk_update(changes.opened, [*_SAID, *_STATE])
    Task.objects.bulk_update(changes.withdrawn, _STATE)
    note(changes.opened, TaskEvent.Act.REOPENED, now=now)
    note_moved(changes.moved, now=now)
    note_withdrawn(changes.withdrawn, now=now)
    if changes.withdrawn:
        let_lapse([task.pk for task in changes.withdrawn], now=now)
