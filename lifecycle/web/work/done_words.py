"""What a page says after one tap did several tasks: done, done by others, and left open."""

from collections import Counter
from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from lifecycle.models import Membership, Task
from lifecycle.records.work.task_standing import closed_words
from lifecycle.reminders.work.task_words import task_name
from lifecycle.web.door import rows

MOST = 20
"""Tasks that one address names."""

NAMED = 3
"""Tasks left open that a sentence names."""


def done_words(request: HttpRequest, member: Membership) -> dict[str, Any]:
    """Return what the address names of tasks: ``did``, ``undid``, ``left`` and ``before``.

    Empty when it names none. The tasks are looked at as they are now, whatever it says.
    """
    did, undid = _named(request, "did"), _named(request, "undid")
    before, left = _named(request, "before"), _named(request, "left")
    wanted = {*did, *undid, *before, *left}
    if not wanted:
        return {}
    found = {
        task.pk: task
        for task in rows(Task, member)
        .filter(pk__in=wanted)
        .select_related("site", "closed_by", "chore__plant", "plant", "sowing__variety")
    }
    own = [found[pk] for pk in did if pk in found and _is_own(found[pk], member)]
    opened = [found[pk] for pk in undid if pk in found and found[pk].state == Task.State.OPEN]
    waiting = [found[pk] for pk in left if pk in found and found[pk].state == Task.State.OPEN]
    closed = [found[pk] for pk in before if pk in found and found[pk].state != Task.State.OPEN]
    return {
        "did": own,
        "did_words": _names(own),
        "undid_words": _names(opened),
        "before": _sentences(closed),
        "left_words": _left_words(waiting),
    }


def _named(request: HttpRequest, name: str) -> list[int]:
    texts = request.GET.getlist(name)[:MOST]
    return [int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 10]


def _is_own(task: Task, member: Membership) -> bool:
    return task.state == Task.State.DONE and task.closed_by_id == member.person_id


def _left_words(waiting: list[Task]) -> str:
    """Return the first of the tasks that are not due yet by name, and how many more."""
    named = [task_name(task) for task in waiting[:NAMED]]
    more = len(waiting) - len(named)
    return ", ".join([*named, f"{more} more"] if more else named)


def _names(tasks: list[Task]) -> str:
    counts = Counter(task_name(task) for task in tasks)
    return ", ".join(
        name if number == 1 else f"{name} ({number} times)" for name, number in counts.items()
    )


def _sentences(closed: list[Task]) -> list[str]:
    """Return who closed these tasks, alike ones counted: "5 plants: Done by Ana at 10:42."."""
    now = timezone.now()
    counts = Counter(closed_words(task, now) for task in closed)
    if len(counts) == 1:
        return list(counts)
    return [f"{number} of them: {words}" for words, number in counts.items()]
