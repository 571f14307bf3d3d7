"""The week's work as a coordinator means to share it out; nobody is told of a draft."""

from collections.abc import Collection, Mapping
from datetime import datetime

from django.db import transaction

from lifecycle.models import Membership, Person, Task, WorkDraft
from lifecycle.permissions import require
from lifecycle.records.people.memberships import hold_garden
from lifecycle.records.refusal import Refused
from lifecycle.records.work.fair_shares import Shares, fair_shares, to_be_shared
from lifecycle.records.work.minding import minder_of, worker_or_refuse
from lifecycle.records.work.week_work import week_of

BATCH = 500


def draft(actor: Membership, tasks: Collection[int], to: Person | None, *, now: datetime) -> int:
    """Mean to give open tasks to ``to``, or to nobody; returns how many. Nothing is told yet.

    What ``to`` has already needs no draft. Raises Refused.
    """
    require(actor, "week.publish")
    if not tasks:
        raise Refused("Tick at least one piece of work first.", "piece")
    if to is not None:
        worker_or_refuse(to, actor.garden_id)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        return _write(actor, dict.fromkeys(tasks, to), proposed=False, now=now)


def drop(actor: Membership, tasks: Collection[int] | None = None) -> int:
    """Take drafts back, all of the garden or those of these tasks; returns how many."""
    require(actor, "week.publish")
    with transaction.atomic():
        hold_garden(actor.garden_id)
        found = WorkDraft.objects.filter(garden_id=actor.garden_id)
        if tasks is not None:
            found = found.filter(task__in=tasks)
        return found.delete()[0]


def propose(actor: Membership, ticked: Collection[str] = (), *, now: datetime) -> Shares:
    """Draft a fair proposal for what nobody has, and for the pieces ``ticked``; returns it.

    Drafts made by hand stay, save those ticked. Raises Refused when there is nothing to share.
    """
    require(actor, "week.publish")
    week = week_of(actor.garden, now=now)
    pieces = to_be_shared(week, ticked)
    if not pieces:
        raise Refused("Everything of this week has somebody. Tick what is to be shared anew.")
    if not week.workers:
        raise Refused("Nobody of this garden can do tasks. Invite somebody first.")
    # Worked out before anything is locked: it may take a moment.
    shares = fair_shares(week, pieces)
    people = {worker.pk: worker.member.person for worker in week.workers.values()}
    wanted = {task.pk: people[who] for piece, who in shares.given for task in piece.tasks}
    no_one = [task.pk for unfit in shares.unfit for task in unfit.piece.tasks]
    with transaction.atomic():
        hold_garden(actor.garden_id)
        WorkDraft.objects.filter(garden_id=actor.garden_id, task__in=no_one).delete()
        if wanted:
            _write(actor, wanted, proposed=True, now=now)
    return shares


def _write(
    actor: Membership, wanted: Mapping[int, Person | None], *, proposed: bool, now: datetime
) -> int:
    """Put drafts in place of those that these tasks had, in the caller's transaction."""
    found = Task.objects.filter(
        garden_id=actor.garden_id, pk__in=wanted, state=Task.State.OPEN
    ).select_related("plant", "sowing", "chore__plant")
    tasks = list(found.order_by("pk"))
    if not tasks:
        raise Refused("All of it was done or withdrawn meanwhile. Load the page again.", "piece")
    WorkDraft.objects.filter(task__in=tasks).delete()
    WorkDraft.objects.bulk_create(
        [
            WorkDraft(
                garden_id=actor.garden_id,
                task=task,
                to=wanted[task.pk],
                proposed=proposed,
                by=actor.person,
                at=now,
            )
            for task in tasks
            if not _is_so_already(task, wanted[task.pk])
        ],
        batch_size=BATCH,
    )
    return len(tasks)


def _is_so_already(task: Task, to: Person | None) -> bool:
    return to is not None and minder_of(task) == to.pk
