"""What happened to tasks, one row an act: who did it, when, and about whom."""

from collections.abc import Iterable
from datetime import datetime

from lifecycle.models import Person, Task, TaskEvent

BATCH = 500


def note(
    tasks: Iterable[Task],
    act: str,
    *,
    now: datetime,
    by: Person | None = None,
    to: Person | None = None,
    why: str = "",
) -> None:
    """Write one event a task, inside the caller's transaction; ``by`` None: the plan or a tick.

    ``act`` is a ``TaskEvent.Act``.
    """
    TaskEvent.objects.bulk_create(
        [
            TaskEvent(
                garden_id=task.garden_id,
                task_id=task.pk,
                act=act,
                at=now,
                by=by,
                to=to,
                note=why[:200],
            )
            for task in tasks
        ],
        batch_size=BATCH,
    )


def note_moved(tasks: Iterable[Task], *, now: datetime) -> None:
    """Write that the plan moved the best day of these tasks, from ``moved_from`` to ``best``."""
    _note_each(
        {task: f"from {{{task.moved_from}}} to {{{task.best}}}" for task in tasks},
        TaskEvent.Act.MOVED,
        now,
    )


def note_withdrawn(tasks: Iterable[Task], *, now: datetime) -> None:
    """Write that these tasks were withdrawn, each with its ``closed_why``."""
    _note_each({task: task.closed_why for task in tasks}, TaskEvent.Act.WITHDRAWN, now)


def _note_each(whys: dict[Task, str], act: str, now: datetime) -> None:
    rows = [
        TaskEvent(garden_id=task.garden_id, task_id=task.pk, act=act, at=now, note=why[:200])
        for task, why in whys.items()
    ]
    if rows:
        TaskEvent.objects.bulk_create(rows, batch_size=BATCH)
