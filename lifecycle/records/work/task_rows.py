"""What every verb of a task stands on: its row locked, handed on, closed."""

from collections.abc import Collection
from datetime import datetime

from lifecycle.models import Membership, Person, Task
from lifecycle.records.refusal import Refused
from lifecycle.records.work.open_offers import let_lapse

WHY_LENGTH = 200


def still_here(actor: Membership, to: Person | None = None) -> None:
    """Hold the memberships of who acts and of who is to get a task, until the verb is done.

    Call it first in a transaction: whoever leaves holds their membership before their tasks.
    Raises Refused when the actor left meanwhile, or has another role by now.
    """
    people = [actor.person_id] if to is None else [actor.person_id, to.pk]
    rows = Membership.objects.filter(
        garden=actor.garden_id, person__in=people, left_on__isnull=True
    )
    held = {row.pk: row for row in rows.select_for_update(no_key=True).order_by("pk")}
    if actor.pk not in held:
        raise Refused("You do not belong to this garden any more. Nothing was changed.")
    if held[actor.pk].role != actor.role:
        raise Refused("Your role in this garden has changed. Load the page again.")


def lock_tasks(garden_id: int, ids: Collection[int]) -> dict[int, Task]:
    """Return the garden's tasks read afresh under row locks; call inside a transaction.

    Rows are taken in one order. Whoever writes entries takes their records first.
    """
    rows = Task.objects.filter(garden_id=garden_id, pk__in=ids).order_by("pk")
    # Locked without joins, then read: PostgreSQL looks up what is joined before it waits, and
    # whoever took the task meanwhile would not be there.
    list(rows.select_for_update().values_list("pk"))
    related = ("site", "assignee", "closed_by", "plant", "sowing", "chore__plant")
    return {task.pk: task for task in rows.select_related(*related)}


def lock_task(actor: Membership, task: Task) -> Task:
    """Lock one task of the actor's garden. Raises Task.DoesNotExist for another garden's."""
    found = lock_tasks(actor.garden_id, [task.pk])
    if not found:
        raise Task.DoesNotExist("That task does not belong to this garden.")
    return found[task.pk]


def hand(task: Task, to: Person | None, *, now: datetime, keep: int | None = None) -> None:
    """Set who has a locked task, inside the caller's transaction; its open offers are past.

    ``keep`` is the offer by which it changes hands.
    """
    task.assignee = to
    task.save(update_fields=["assignee"])
    let_lapse([task.pk], now=now, keep=keep)


def close(task: Task, state: str, *, by: Person, now: datetime, why: str = "") -> None:
    """Close a locked task, inside the caller's transaction; its open offers are past."""
    task.state, task.closed_at, task.closed_by, task.closed_why = state, now, by, why
    task.save(update_fields=["state", "closed_at", "closed_by", "closed_why"])
    let_lapse([task.pk], now=now)


def checked_why(why: str) -> str:
    """Return a reason without stray space. Raises Refused for one that is too long."""
    why = why.strip()
    if "\x00" in why:
        raise Refused("The reason holds a character that cannot be kept. Type it again.", "why")
    if len(why) > WHY_LENGTH:
        raise Refused(f"The reason has {len(why)} characters; keep it to {WHY_LENGTH}.", "why")
    return why
