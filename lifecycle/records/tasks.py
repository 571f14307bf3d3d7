"""What closes, reopens and assigns a task."""

from datetime import datetime

from django.db import transaction

from lifecycle.care.catalogue import ROUTINE, STEP_RULES, series_of, steps_done_by
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Membership, Person, Task
from lifecycle.models.plants import Projection, Sowing
from lifecycle.permissions import require
from lifecycle.records.drafts import check_holder
from lifecycle.records.refusal import Refused


def tasks_of(record: Projection) -> dict[str, Projection]:
    """Return the filter that finds the tasks of a record."""
    return {"sowing" if isinstance(record, Sowing) else "plant": record}


def close_done_by(record: Projection, entry: Entry, *, by: Person, now: datetime) -> None:
    """Mark done the open tasks of ``record`` that ``entry`` fulfils.

    Only an entry on or after the step's ``counts_from`` counts; of a series, one entry
    does one step.
    """
    kinds = steps_done_by(Kind(entry.kind))
    if not kinds:
        return
    found = Task.objects.filter(
        **tasks_of(record),
        state=Task.State.OPEN,
        kind__in=kinds,
        counts_from__lte=entry.happened_on,
    ).order_by("earliest", "number", "pk")
    first: dict[str, int] = {}
    for task in found:
        first.setdefault(series_of(task.kind), task.pk)
    if first:
        Task.objects.filter(pk__in=first.values(), state=Task.State.OPEN).update(
            state=Task.State.DONE, entry=entry, closed_at=now, closed_by=by, closed_why=""
        )


def reopen_done_by(entry: Entry) -> None:
    """Open again the tasks that a struck entry had closed; the next plan settles them.

    In a series the entries after it move up by one, and the last of its tasks opens.
    """
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


def cannot_do(actor: Membership, task: Task, why: str, *, now: datetime) -> None:
    """Close ``task`` as impossible, with the reason given."""
    require(actor, "task.do")
    why = why.strip()
    if not why:
        raise Refused("Say in a few words why it cannot be done.", "why")
    if len(why) > 200:
        raise Refused(f"The reason has {len(why)} characters; keep it to 200.", "why")
    changed = Task.objects.filter(
        pk=task.pk, garden_id=actor.garden_id, state=Task.State.OPEN
    ).update(state=Task.State.CANNOT, closed_at=now, closed_by=actor.person, closed_why=why)
    if not changed:
        raise Refused("This task is no longer open. Load the page again to see who closed it.")


def assign(actor: Membership, task: Task, to: Person | None) -> None:
    """Give ``task`` to a member, or to nobody. Taking one for oneself needs no role."""
    require(actor, "task.do" if to in (None, actor.person) else "task.assign")
    with transaction.atomic():
        current = Task.objects.select_for_update().get(pk=task.pk, garden_id=actor.garden_id)
        if current.state != Task.State.OPEN:
            raise Refused("This task is no longer open.")
        if to is not None:
            check_holder(to, actor.garden_id)
        taken = current.assignee_id not in (None, actor.person_id)
        if taken and current.assignee_id != (to.pk if to else None):
            require(actor, "task.assign")
        current.assignee = to
        current.save(update_fields=["assignee"])
