"""Who had a task before it was passed on, and before that: read from what happened to it."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q

from lifecycle.models import Task, TaskEvent

Act = TaskEvent.Act
HAD_TAKEN = "had taken it"
"""Note of a passing on: it was given to the person or taken by them, not only held."""

HANDS = (
    *(Act.TAKEN, Act.GIVEN, Act.GIVEN_BACK, Act.DECLINED, Act.SWAPPED, Act.COVERED),
    *(Act.HANDED_OVER, Act.LEFT),
)
"""What changes who has a task."""

WAS_COVERED = Exists(TaskEvent.objects.filter(task=OuterRef("pk"), act=Act.COVERED))
"""In a query of tasks: those that were passed on at some time."""


@dataclass(frozen=True, slots=True)
class Passed:
    """A task went from ``by``, who is away, to ``to``; ``taken``: ``by`` had it by name."""

    by: int
    to: int
    taken: bool


def chains_of(tasks: Collection[int]) -> dict[int, list[Passed]]:
    """Return by task through whose hands it came to who covers, the first the first. One query.

    Somebody who covers may be away in their turn. Only what has not gone back counts, and only
    since the task changed hands otherwise.
    """
    found: dict[int, list[Passed]] = {pk: [] for pk in tasks}
    events = TaskEvent.objects.filter(task__in=tasks, act__in=HANDS).order_by("at", "pk")
    for task, act, by, to, note in events.values_list("task", "act", "by", "to", "note"):
        chain = found[task]
        if act == Act.COVERED and by and to:
            goes_on = bool(chain) and chain[-1].to == by and note == HAD_TAKEN
            found[task] = [*(chain if goes_on else ()), Passed(by, to, note == HAD_TAKEN)]
        elif act == Act.GIVEN_BACK and by is None:
            found[task] = _gone_back(chain, to)
        else:
            found[task] = []
    return found


def _gone_back(chain: Sequence[Passed], to: int | None) -> list[Passed]:
    """Return what is left of a chain after a cover was over and a task went back to ``to``."""
    owners = [each.by for each in chain]
    return list(chain[: owners.index(to)]) if to in owners else []


def covered_for(person: int, which: Q) -> list[int]:
    """Return the open tasks of these that somebody has only because ``person`` is away."""
    rows = Task.objects.filter(WAS_COVERED, which, state=Task.State.OPEN, assignee__isnull=False)
    having = dict(rows.order_by("pk").values_list("pk", "assignee"))
    chains = chains_of(having)
    return [
        pk
        for pk, assignee in having.items()
        if chains[pk] and chains[pk][0].by == person and chains[pk][-1].to == assignee
    ]
