"""Whose a task is, and where: the same for lists, messages and verbs.

Who was given a task or took it goes first, then whoever holds its plant or sowing. A chore of a
bed or of a site is nobody's until somebody takes it.
"""

from collections.abc import Collection

from django.db.models.functions import Coalesce

from lifecycle.models import Membership, Person, Place, Plant, Sowing, Task
from lifecycle.permissions import ROLE_ACTIONS
from lifecycle.records.refusal import Refused

WORKING_ROLES = tuple(role for role, actions in ROLE_ACTIONS.items() if "task.do" in actions)
"""The roles that may do tasks."""

MINDER = Coalesce("assignee_id", "plant__holder_id", "sowing__holder_id", "chore__plant__holder_id")
"""In a query of tasks: the person who minds each, or None."""

WHERE = Coalesce("plant__place_id", "sowing__place_id", "chore__place_id", "chore__plant__place_id")
"""In a query of tasks: the place of each, or None."""

RELATED = (
    *("site", "plant__place", "plant__variety", "sowing__place", "sowing__variety"),
    *("chore__place", "chore__plant__place"),
)
"""What to select with tasks so that their words cost no query each."""


def record_of(task: Task) -> Plant | Sowing | None:
    """Return the plant or sowing whose plan made a task; None for a chore."""
    return task.plant or task.sowing


def where_of(task: Task) -> Place | None:
    """Return the place where a task is to be done, where it has one."""
    record = record_of(task)
    if record is not None:
        return record.place
    chore = task.chore
    if chore is None:
        return None
    return chore.place or (chore.plant.place if chore.plant else None)


def minder_of(task: Task) -> int | None:
    """Return the number of the person who minds a task, as ``MINDER`` does in a query."""
    if task.assignee_id is not None:
        return task.assignee_id
    held = record_of(task) or (task.chore.plant if task.chore else None)
    return held.holder_id if held else None


def still_working(garden_id: int, people: Collection[int]) -> set[int]:
    """Return those of these people who may do tasks in the garden today."""
    rows = Membership.objects.filter(
        garden=garden_id, person__in=people, left_on__isnull=True, role__in=WORKING_ROLES
    )
    return set(rows.values_list("person", flat=True))


def worker_or_refuse(person: Person, garden_id: int, field: str = "to") -> None:
    """Raise Refused unless ``person`` may do tasks in the garden today."""
    member = Membership.objects.filter(
        garden_id=garden_id, person=person, left_on__isnull=True, person__is_active=True
    ).first()
    if member is None:
        raise Refused(f"{person} is not a member of this garden. Choose a member.", field)
    if member.role not in WORKING_ROLES:
        raise Refused(f"{person} is here to read, not to do tasks. Choose somebody else.", field)
