"""Tasks that an entry does, and that open again when it is struck."""

from datetime import datetime

from lifecycle.care.catalogue import ROUTINE, STEP_RULES, series_of, steps_done_by
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Person, Task, TaskEvent
from lifecycle.models.plants import Projection, Sowing
from lifecycle.records.work.cover import put_right
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note


def tasks_of(record: Projection) -> dict[str, Projection]:
    """Return the filter that finds the tasks of a record."""
    return {"sowing" if isinstance(record, Sowing) else "plant": record}


def close_done_by(record: Projection, entry: Entry, *, by: Person, now: datetime) -> None:
    """Mark done the open tasks of a locked ``record`` that ``entry`` fulfils.

    Only an entry on or after the step's ``counts_from`` counts; of a series, one entry
    does one step.
    """
    kinds = steps_done_by(Kind(entry.kind))
    if not kinds:
        return
    found = (
        Task.objects.select_for_update()
        .filter(
            **tasks_of(record),
            state=Task.State.OPEN,
            kind__in=kinds,
            counts_from__lte=entry.happened_on,
        )
        .order_by("earliest", "number", "pk")
    )
    first: dict[str, Task] = {}
    for task in found:
        first.setdefault(series_of(task.kind), task)
    if first:
        ids = [task.pk for task in first.values()]
        Task.objects.filter(pk__in=ids).update(
            state=Task.State.DONE, entry=entry, closed_at=now, closed_by=by, closed_why=""
        )
        let_lapse(ids, now=now)
        note(first.values(), TaskEvent.Act.DONE, now=now, by=by)


def reopen_done_by(entry: Entry, *, by: Person, now: datetime) -> None:
    """Open again the tasks that a struck entry had closed; the next plan settles them.

    In a series the entries after it move up by one, and the last of its tasks opens.
    """
    opened = []
    for task in Task.objects.filter(entry=entry, state=Task.State.DONE):
        vacant = task
        for later in _later_in_series(task):
            Task.objects.filter(pk=vacant.pk).update(
                entry=later.entry_id, closed_at=later.closed_at, closed_by=later.closed_by_id
            )
            vacant = later
        Task.objects.filter(pk=vacant.pk).update(
            state=Task.State.OPEN, entry=None, closed_at=None, closed_by=None, closed_why=""
        )
        opened.append(vacant)
    if opened:
        note(
            opened,
            TaskEvent.Act.REOPENED,
            now=now,
            by=by,
            why="The entry that did it was struck through.",
        )
        ids = [task.pk for task in opened]
        put_right(Task.objects.filter(pk__in=ids).order_by("pk"), now=now)


def _later_in_series(task: Task) -> list[Task]:
    name = series_of(task.kind)
    series = [kind for kind in STEP_RULES if name in ROUTINE and series_of(kind) == name]
    return list(
        Task.objects.filter(
            plant=task.plant_id,
            kind__in=series,
            growing_year=task.growing_year,
            number__gt=task.number,
            state=Task.State.DONE,
            entry__isnull=False,
        ).order_by("number")
        if series
        else ()
    )
