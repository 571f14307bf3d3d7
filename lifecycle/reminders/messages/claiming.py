"""Who sends which message: rows are claimed by a conditional UPDATE with a token and a lease.

Portable: on PostgreSQL the second of two updates looks at the row again and finds it taken;
on SQLite writers wait for each other. Neither needs a lock that outlives the statement.
"""

from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, Q, QuerySet

from lifecycle.models import Message, MessageItem

LEASE = timedelta(minutes=10)
"""Longer than any run; after it a message whose sender died is due again."""
BATCH = 100
_OF_THE_MORNING = (MessageItem.Stage.OPENED, MessageItem.Stage.LATE)


def due(now: datetime, without: tuple[str, ...] = ()) -> QuerySet[Message]:
    """Return messages that may go out now and that nobody holds.

    ``without`` names channels to leave out.
    """
    found = Message.objects.filter(
        _free(now), state=Message.State.PENDING, not_before__lte=now, expires_at__gt=now
    )
    return found.exclude(channel__in=without) if without else found


def claim(*, now: datetime, without: tuple[str, ...] = ()) -> tuple[UUID, list[int]]:
    """Take up to ``BATCH`` due messages; two callers never take the same one.

    Returns the token and what was chosen; ``held`` tells which of them were really had.
    """
    token = uuid4()
    oldest = due(now, without).order_by("not_before", "pk").values_list("pk", flat=True)
    ids = list(oldest[:BATCH])
    due(now, without).filter(pk__in=ids).update(
        claim=token, lease_until=now + LEASE, attempts=F("attempts") + 1
    )
    return token, ids


def held(token: UUID) -> QuerySet[Message]:
    """Return the messages that the holder of ``token`` may still send."""
    return Message.objects.filter(claim=token, state=Message.State.PENDING)


def expire(*, now: datetime) -> int:
    """Give up messages that are too old, unless one is just being sent."""
    with transaction.atomic():
        stale = Message.objects.select_for_update().filter(
            _free(now), state=Message.State.PENDING, expires_at__lte=now
        )
        return give_up(list(stale.values_list("pk", flat=True)))


def give_up(ids: list[int]) -> int:
    """Mark messages expired; their tasks are free to be announced anew."""
    if not ids:
        return 0
    tell_anew(ids)
    return Message.objects.filter(pk__in=ids).update(
        state=Message.State.EXPIRED, claim=None, lease_until=None
    )


def tell_anew(ids: list[int]) -> None:
    """Free the tasks of messages that nobody will read: the morning tells of them again.

    What was offered, or closes with a night, is told at its own time or not at all.
    """
    MessageItem.objects.filter(message__in=ids, stage__in=_OF_THE_MORNING).delete()


def _free(now: datetime) -> Q:
    return Q(lease_until__isnull=True) | Q(lease_until__lt=now)
