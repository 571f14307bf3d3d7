"""Who has a task, and how it is closed or opened again by hand: one verb a function."""

from datetime import datetime

from django.db import transaction

from lifecycle.models import Membership, Person, Task, TaskEvent
from lifecycle.permissions import can, require
from lifecycle.records.refusal import Refused
from lifecycle.records.work.cover import put_right
from lifecycle.records.work.minding import worker_or_refuse
from lifecycle.records.work.task_history import note
from lifecycle.records.work.task_rows import (
    checked_why,
    close,
    hand,
    lock_task,
    lock_tasks,
    still_here,
)
from lifecycle.records.work.task_standing import open_or_refuse

ANY = -1
"""Of what a form showed: it did not say who had the task."""

Act = TaskEvent.Act


def take(actor: Membership, task: Task, *, now: datetime) -> Task:
    """Take a task that nobody has taken yet. Raises Refused, saying who has it or did it.

    Taking twice is taking once. A task that its holder minds may be taken: that is help.
    """
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        current = lock_task(actor, task)
        open_or_refuse(current, now)
        if current.assignee_id == actor.person_id:
            return current
        if current.assignee is not None:
            raise Refused(f"{current.assignee} has taken this already.")
        hand(current, actor.person, now=now)
        note([current], Act.TAKEN, now=now, by=actor.person)
    return current


def give(
    actor: Membership, task: Task, to: Person | None, *, now: datetime, seen: int | None = ANY
) -> Task:
    """Give a task to a member, or to nobody, as a coordinator.

    ``seen`` is who had it on the page the coordinator looked at. Raises Refused when it
    changed hands since.
    """
    require(actor, "task.assign")
    with transaction.atomic():
        still_here(actor, to)
        current = lock_task(actor, task)
        open_or_refuse(current, now)
        if seen != ANY and current.assignee_id != seen and current.assignee_id is not None:
            raise Refused(
                f"{current.assignee} has taken this meanwhile. Give it again if you mean to."
            )
        if to is not None:
            worker_or_refuse(to, actor.garden_id)
        if current.assignee_id == (to.pk if to else None):
            return current
        had = current.assignee
        hand(current, to, now=now)
        act = Act.GIVEN if to is not None else Act.GIVEN_BACK
        note([current], act, now=now, by=actor.person, to=to or had)
    return current


def give_back(actor: Membership, task: Task, *, now: datetime) -> Task:
    """Give up a task one took; a coordinator may free another's. Raises Refused."""
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        current = lock_task(actor, task)
        open_or_refuse(current, now)
        had = current.assignee
        if had is None:
            raise Refused("Nobody has taken this task: there is nothing to give back.")
        if had.pk != actor.person_id:
            require(actor, "task.assign")
        hand(current, None, now=now)
        to = had if had.pk != actor.person_id else None
        note([current], Act.GIVEN_BACK, now=now, by=actor.person, to=to)
    return current


def decline(actor: Membership, task: Task, *, now: datetime, why: str = "") -> Task:
    """Say no to a task one was given; it waits for somebody else. Raises Refused."""
    require(actor, "task.do")
    why = checked_why(why)
    with transaction.atomic():
        still_here(actor)
        current = lock_task(actor, task)
        open_or_refuse(current, now)
        if current.assignee_id != actor.person_id:
            raise Refused("This task is not with you, so there is nothing to decline.")
        hand(current, None, now=now)
        note([current], Act.DECLINED, now=now, by=actor.person, why=why)
    return current


def cannot_do(actor: Membership, task: Task, why: str, *, now: datetime) -> Task:
    """Close ``task`` as impossible, with the reason given. Raises Refused."""
    require(actor, "task.do")
    why = checked_why(why)
    if not why:
        raise Refused("Say in a few words why it cannot be done.", "why")
    with transaction.atomic():
        still_here(actor)
        found = lock_tasks(actor.garden_id, [task.pk])
        if not found:
            raise Refused("That task does not belong to this garden.")
        current = found[task.pk]
        open_or_refuse(current, now)
        close(current, Task.State.CANNOT, by=actor.person, now=now, why=why)
        note([current], Act.CANNOT, now=now, by=actor.person, why=why)
    return current


def reopen(actor: Membership, task: Task, *, now: datetime) -> Task:
    """Open again what one closed by mistake; a coordinator may open another's.

    What cannot be done may be opened any day, a chore that is done on the same day only. A step
    that an entry did opens when the entry is struck. It stays with whoever had it, if they still
    work here. Raises Refused.
    """
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        current = lock_task(actor, task)
        if current.state == Task.State.OPEN:
            return current
        if current.closed_by_id != actor.person_id and not can(actor, "task.assign"):
            require(actor, "task.assign")
        _refuse_closed_for_good(current, now)
        current.state, current.closed_why = Task.State.OPEN, ""
        current.closed_at = current.closed_by = None
        current.save(update_fields=["state", "closed_at", "closed_by", "closed_why"])
        note([current], Act.REOPENED, now=now, by=actor.person)
        put_right([current], now=now)
    return current


def _refuse_closed_for_good(task: Task, now: datetime) -> None:
    if task.state == Task.State.WITHDRAWN:
        raise Refused(f"{task.closed_why} A task comes back by itself when the plan has it again.")
    if task.entry_id is not None:
        raise Refused("An entry did this task. Strike the entry through, and it is open again.")
    done = task.state == Task.State.DONE
    if done and task.closed_at and task.site.local_day(task.closed_at) != task.site.local_day(now):
        raise Refused("Undo is for the same day. This was done before today.")
