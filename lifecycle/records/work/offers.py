"""A member offers a task to another, alone or in exchange for one of theirs."""

from datetime import datetime

from django.db import transaction

from lifecycle.models import Membership, Person, Task, TaskEvent, TaskOffer
from lifecycle.permissions import can, require
from lifecycle.records.refusal import Refused
from lifecycle.records.work.minding import minder_of, worker_or_refuse
from lifecycle.records.work.task_history import note
from lifecycle.records.work.task_rows import hand, lock_tasks, still_here
from lifecycle.records.work.task_standing import closed_words, open_or_refuse

SWAP = "in exchange for one of theirs"
TAKEN_BACK = "taken back"

State, Act = TaskOffer.State, TaskEvent.Act


def offer(
    actor: Membership, task: Task, to: Person, *, now: datetime, for_task: Task | None = None
) -> TaskOffer:
    """Offer one of the actor's tasks to ``to``, for ``for_task`` of theirs or for nothing.

    It stays with the actor until it is accepted. Raises Refused.
    """
    require(actor, "task.offer")
    if to.pk == actor.person_id:
        raise Refused("This task is with you already. Choose somebody else.", "to")
    with transaction.atomic():
        still_here(actor, to)
        worker_or_refuse(to, actor.garden_id)
        locked = lock_tasks(actor.garden_id, [each.pk for each in (task, for_task) if each])
        own = locked.get(task.pk)
        if own is None or (for_task is not None and for_task.pk not in locked):
            raise Refused("That task does not belong to this garden.")
        open_or_refuse(own, now)
        if minder_of(own) != actor.person_id:
            raise Refused("This task is not with you, so you cannot offer it.")
        if for_task is not None:
            _check_theirs(locked[for_task.pk], own, to, now)
        waiting = TaskOffer.objects.filter(task=own, state=State.OPEN).select_related("to").first()
        if waiting is not None:
            raise Refused(f"You offered it to {waiting.to} already. Take that back first.")
        made = TaskOffer.objects.create(
            garden_id=actor.garden_id,
            task=own,
            for_task=for_task,
            by=actor.person,
            to=to,
            made_at=now,
        )
        why = SWAP if for_task else ""
        note([own], Act.OFFERED, now=now, by=actor.person, to=to, why=why)
    return made


def _check_theirs(theirs: Task, own: Task, to: Person, now: datetime) -> None:
    if theirs.pk == own.pk or minder_of(theirs) != to.pk:
        raise Refused(f"That task is not with {to}. Choose one of theirs.", "for_task")
    if theirs.state != Task.State.OPEN:
        raise Refused(f"{closed_words(theirs, now)} Choose another one.", "for_task")


def accept(actor: Membership, made: TaskOffer, *, now: datetime) -> TaskOffer:
    """Take on what was offered to the actor. Accepting twice is accepting once.

    Raises Refused when it was answered otherwise, or when a task of it changed meanwhile.
    """
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor, made.by)
        ids = [pk for pk in (made.task_id, made.for_task_id) if pk]
        tasks = lock_tasks(actor.garden_id, ids)
        current = _lock(actor, made)
        if current.to_id != actor.person_id:
            raise Refused("This was offered to somebody else.")
        if current.state == State.TAKEN:
            return current
        changed = _changed(current, tasks, now) if current.state == State.OPEN else ""
        if not changed:
            _refuse_answered(current)
            _exchange(current, tasks, now)
        _answer(current, State.PAST if changed else State.TAKEN, now)
    if changed:
        raise Refused(changed)
    return current


def _exchange(current: TaskOffer, tasks: dict[int, Task], now: datetime) -> None:
    task = tasks[current.task_id]
    hand(task, current.to, now=now, keep=current.pk)
    if current.for_task_id is None:
        note([task], Act.TAKEN, now=now, by=current.to, to=current.by)
        return
    theirs = tasks[current.for_task_id]
    hand(theirs, current.by, now=now, keep=current.pk)
    note([task], Act.SWAPPED, now=now, by=current.by, to=current.to)
    note([theirs], Act.SWAPPED, now=now, by=current.to, to=current.by)


def _changed(current: TaskOffer, tasks: dict[int, Task], now: datetime) -> str:
    """Return what happened meanwhile to a task of an open offer; "" when nothing did."""
    wanted = [(current.task_id, current.by)]
    if current.for_task_id is not None:
        wanted.append((current.for_task_id, current.to))
    for pk, person in wanted:
        task = tasks[pk]
        if task.state != Task.State.OPEN:
            return f"{closed_words(task, now)} There is nothing to take any more."
        if minder_of(task) != person.pk:
            return f"The task is not with {person} any more, so the offer is past."
    return ""


def refuse(actor: Membership, made: TaskOffer, *, now: datetime) -> TaskOffer:
    """Say no to what was offered to the actor; it stays where it is. Raises Refused."""
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        lock_tasks(actor.garden_id, [made.task_id])
        current = _lock(actor, made)
        if current.to_id != actor.person_id:
            raise Refused("This was offered to somebody else.")
        if current.state == State.REFUSED:
            return current
        _refuse_answered(current)
        _answer(current, State.REFUSED, now)
        note([current.task], Act.OFFER_REFUSED, now=now, by=current.to, to=current.by)
    return current


def take_back(actor: Membership, made: TaskOffer, *, now: datetime) -> TaskOffer:
    """Withdraw an offer nobody has answered: one's own, or anybody's for a coordinator."""
    require(actor, "task.offer")
    with transaction.atomic():
        still_here(actor)
        lock_tasks(actor.garden_id, [made.task_id])
        current = _lock(actor, made)
        if current.by_id != actor.person_id and not can(actor, "task.assign"):
            raise Refused(f"{current.by} made this offer. Only they can take it back.")
        if current.state == State.WITHDRAWN:
            return current
        _refuse_answered(current)
        _answer(current, State.WITHDRAWN, now)
        task, by, to = current.task, actor.person, current.to
        note([task], Act.OFFER_REFUSED, now=now, by=by, to=to, why=TAKEN_BACK)
    return current


def _lock(actor: Membership, made: TaskOffer) -> TaskOffer:
    # After the tasks, as in every verb that ends the offers of a task.
    return (
        TaskOffer.objects.select_for_update(of=("self",))
        .select_related("by", "to", "task__site")
        .get(pk=made.pk, garden_id=actor.garden_id)
    )


def _answer(current: TaskOffer, state: str, now: datetime) -> None:
    current.state, current.answered_at = state, now
    current.save(update_fields=["state", "answered_at"])


def _refuse_answered(current: TaskOffer) -> None:
    said = {
        State.TAKEN: f"{current.to} has taken this already.",
        State.REFUSED: f"{current.to} said no to this already.",
        State.WITHDRAWN: f"{current.by} took this offer back.",
        State.PAST: "This offer is past: the task changed meanwhile.",
    }
    if current.state != State.OPEN:
        raise Refused(said[State(current.state)])
