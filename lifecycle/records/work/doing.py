"""Do several tasks with one tap: all that are still open, in one transaction."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.life.kinds import Kind
from lifecycle.models import Membership, Plant, Sowing, Task, TaskEvent
from lifecycle.models.plants import Projection
from lifecycle.permissions import require
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import Logged, log
from lifecycle.records.refusal import Refused
from lifecycle.records.work.minding import record_of
from lifecycle.records.work.task_history import note
from lifecycle.records.work.task_rows import close, lock_tasks, still_here


@dataclass(frozen=True, slots=True)
class Doing:
    """What one tap did. ``before`` are the tasks that were closed already, and by whom."""

    logged: list[Logged]
    done: list[Task]
    before: list[Task]


def part_id(form_id: UUID, code: str, kind: str) -> UUID:
    """Return the id of the entry that a form writes for one record and kind."""
    return uuid5(form_id, f"{code} {kind}")


def do_tasks(actor: Membership, tasks: Sequence[Task], *, form_id: UUID, now: datetime) -> Doing:
    """Do those of the tasks that are open, each by its entry; a chore needs none.

    The same form twice writes nothing twice. What others closed meanwhile is left as it is and
    named. Raises Refused for all when one cannot be done by a tap, or its record cannot take it.
    """
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        # Records before tasks, as everywhere: whoever logs or plans takes them in this order.
        records = _lock_records(actor, tasks)
        current = lock_tasks(actor.garden_id, [task.pk for task in tasks])
        still_open = [task for task in current.values() if task.state == Task.State.OPEN]
        before = [task for task in current.values() if task.state != Task.State.OPEN]
        steps = [task for task in still_open if task.kind != Task.CHORE]
        chores = [task for task in still_open if task.kind == Task.CHORE]
        logged = [_log(actor, task, records, form_id, now) for task in steps]
        for task in chores:
            close(task, Task.State.DONE, by=actor.person, now=now)
        note(chores, TaskEvent.Act.DONE, now=now, by=actor.person)
        done = Task.objects.filter(
            pk__in=[task.pk for task in still_open], state=Task.State.DONE
        ).select_related("site", "closed_by", "entry")
        return Doing(logged, list(done.order_by("pk")), before)


def _lock_records(
    actor: Membership, tasks: Iterable[Task]
) -> dict[tuple[type[Projection], int], Projection]:
    """Lock the sowings and plants of tasks, each table in one order."""
    found: dict[tuple[type[Projection], int], Projection] = {}
    listed = list(tasks)
    for table, ids in (
        (Sowing, {task.sowing_id for task in listed if task.sowing_id}),
        (Plant, {task.plant_id for task in listed if task.plant_id}),
    ):
        rows = table.objects.select_for_update().filter(garden_id=actor.garden_id, pk__in=ids)
        for row in rows.order_by("pk"):
            found[table, row.pk] = row
    return found


def _log(
    actor: Membership,
    task: Task,
    records: dict[tuple[type[Projection], int], Projection],
    form_id: UUID,
    now: datetime,
) -> Logged:
    rule = STEP_RULES[task.kind]
    if not rule.one_tap:
        raise Refused(f"“{rule.label}” needs more than a tap. Do it on its own page.")
    named = record_of(task)
    assert named is not None
    record = records[type(named), named.pk]
    today = record.site.local_day(now)
    if today < task.counts_from:
        raise Refused(f"{record}: an entry counts for this task from {task.counts_from:%-d %B %Y}.")
    kind = Kind(rule.done_by)
    draft = Draft(kind, today, part_id(form_id, record.code, kind), choice=rule.choice)
    try:
        return log(actor, record, draft, now=now)
    except Refused as problem:
        raise Refused(f"{record}: {problem}", problem.field) from None
