"""Chores become tasks when they come within the look-ahead.

A function of the database and ``now``, as ``worklist`` is for steps: a task carries its chore and
its day as a unique key. Of the days that are past only the last one stands: a chore that nobody
did is not piled up, and after a standstill what was missed meanwhile is one task. It stands until
it is done or its next day has come: what nobody did is late, not gone.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from lifecycle.care.chores import ANCHORED
from lifecycle.care.steps import Window
from lifecycle.models import Chore, Site, Task, TaskEvent
from lifecycle.records.work.chore_sites import follow_plants
from lifecycle.records.work.cover import put_right
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note, note_moved, note_withdrawn
from lifecycle.reminders.work.chore_days import LOOK_BACK, PlannedChore, Slot, slot_of
from lifecycle.reminders.work.planning import ClimateInUse, climate_of

NEXT_CAME = "Its next time has come."


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
    follow_plants()
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
        _compare_one(PlannedChore(chore, climate, today), tasks[chore.pk], changes, now)
    return changes


def _compare_one(planned: PlannedChore, tasks: list[Task], changes: Changes, now: datetime) -> None:
    due = planned.wanted()
    wanted = {slot_of(window): window for window in due if not planned.done_for(window, tasks)}
    there = {(task.growing_year, task.number): task for task in tasks}
    free = {slot: window for slot, window in wanted.items() if slot not in there}
    for slot, window in wanted.items():
        if slot in there:
            _keep(planned, there[slot], window, changes)
    come = max((window.best for window in due if window.best <= planned.today), default=date.min)
    lost = []
    for slot, task in there.items():
        if task.state != Task.State.OPEN or slot in wanted:
            continue
        own = planned.own(task)
        if planned.next_came(task, own, come):
            _withdraw(task, NEXT_CAME, changes, now)
        elif own is None:
            lost.append(task)
        else:
            _keep(planned, task, own, changes)
    for task in lost:
        _move(planned, task, tasks, free, changes, now)
    for window in free.values():
        made = Task(
            garden_id=planned.chore.garden_id, chore=planned.chore, kind=Task.CHORE, made_at=now
        )
        planned.fill(made, window)
        changes.new.append(made)


def _move(
    planned: PlannedChore,
    task: Task,
    tasks: list[Task],
    free: dict[Slot, Window],
    changes: Changes,
    now: datetime,
) -> None:
    """Move an open task that lost its day to another, which leaves ``free``, or withdraw it."""
    if planned.hangs_on_freeze(task):
        # What moved before has its new day already.
        taken = {(each.growing_year, each.number) for each in tasks}
        window = planned.moved_to(task, taken, tasks)
    else:
        window = next(iter(free.values()), None)
    if window is not None:
        free.pop(slot_of(window), None)
        changes.moved.append(task)
        task.moved_from, task.moved_on = task.best, planned.today
        planned.fill(task, window)
        changes.changed.append(task)
    elif not planned.stays(task):
        _withdraw(task, planned.why_gone(task), changes, now)


def _keep(planned: PlannedChore, task: Task, window: Window, changes: Changes) -> None:
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
    put_right(changes.opened, now=now)
    note_moved(changes.moved, now=now)
    note_withdrawn(changes.withdrawn, now=now)
    if changes.withdrawn:
        let_lapse([task.pk for task in changes.withdrawn], now=now)
