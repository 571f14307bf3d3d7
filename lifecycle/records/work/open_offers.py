"""Offers that wait for an answer end when a task of theirs changes hands or is closed."""

from collections.abc import Collection
from datetime import datetime

from django.db.models import Q

from lifecycle.models import TaskOffer


def let_lapse(tasks: Collection[int], *, now: datetime, keep: int | None = None) -> None:
    """Mark the open offers of these tasks as past; ``keep`` is the one being answered."""
    waiting = TaskOffer.objects.filter(
        Q(task__in=tasks) | Q(for_task__in=tasks), state=TaskOffer.State.OPEN
    )
    if keep is not None:
        waiting = waiting.exclude(pk=keep)
    waiting.update(state=TaskOffer.State.PAST, answered_at=now)
