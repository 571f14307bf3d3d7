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
