"""Deliver what is due. Rows are claimed by a conditional UPDATE with a token and a lease.

A crash before sending loses nothing: the lease runs out and the row is due again. A crash
between sending and the stamp can repeat one mail, under the same Message-ID; a message on
the page is stamped in the transaction that shows it, so it appears exactly once.
"""

import logging
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, Q, QuerySet

from lifecycle.models import Membership, Message, MessageItem, Task
from lifecycle.records.message_choices import wants
from lifecycle.reminders.transports import TransportError, deliver
from lifecycle.reminders.wording import body, subject_line

LEASE = timedelta(minutes=10)
BATCH = 50
BACKOFF = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=6),
)

log = logging.getLogger(__name__)


def dispatch_all(*, now: datetime) -> int:
    """Expire stale messages and send what is due. Returns how many were sent."""
    expire(now=now)
    sent = 0
    while True:
        token, claimed = claim(now=now)
        for message in claimed:
            sent += _send(message, token, now)
        if len(claimed) < BATCH:
            return sent


def due(now: datetime) -> QuerySet[Message]:
    """Return messages that may go out now and that nobody holds."""
    free = Q(lease_until__isnull=True) | Q(lease_until__lt=now)
    return Message.objects.filter(
        free, state=Message.State.PENDING, not_before__lte=now, expires_at__gt=now
    )


def claim(*, now: datetime) -> tuple[UUID, list[Message]]:
    """Take up to ``BATCH`` due messages; two callers never take the same one."""
    token = uuid4()
    ids = list(due(now).order_by("not_before", "pk").values_list("pk", flat=True)[:BATCH])
    due(now).filter(pk__in=ids).update(
        claim=token, lease_until=now + LEASE, attempts=F("attempts") + 1
    )
    held = Message.objects.filter(claim=token, pk__in=ids).select_related("person", "garden")
    return token, list(held.order_by("not_before", "pk"))


def expire(*, now: datetime) -> int:
    """Give up messages that are too old, so that their tasks are announced anew."""
    free = Q(lease_until__isnull=True) | Q(lease_until__lt=now)
    with transaction.atomic():
        stale = list(
            Message.objects.select_for_update()
            .filter(free, state=Message.State.PENDING, expires_at__lte=now)
            .values_list("pk", flat=True)
        )
        MessageItem.objects.filter(message__in=stale).delete()
        return Message.objects.filter(pk__in=stale).update(
            state=Message.State.EXPIRED, claim=None, lease_until=None
        )


def _send(message: Message, token: UUID, now: datetime) -> int:
    mine = Message.objects.filter(pk=message.pk, claim=token, state=Message.State.PENDING)
    try:
        if not _still_wanted(message):
            _close(mine, Message.State.CANCELLED)
            return 0
        tasks = _open_tasks(message)
        if not tasks:
            _close(mine, Message.State.CANCELLED)
            return 0
        message.subject, message.body = subject_line(message, tasks), body(message, tasks)
        if not mine.exists():  # the lease ran out on a slow mail server; somebody else has it
            return 0
        deliver(message)
    except TransportError as problem:
        _put_off(mine, message, str(problem), now, permanent=problem.permanent)
        return 0
    except Exception as problem:  # one broken message must not hold up the rest
        log.exception("Message %s could not be made.", message.key)
        _put_off(mine, message, repr(problem), now, permanent=False)
        return 0
    return mine.update(
        state=Message.State.SENT,
        sent_at=now,
        subject=message.subject,
        body=message.body,
        claim=None,
        lease_until=None,
        last_error="",
    )


def _still_wanted(message: Message) -> bool:
    person = message.person
    if not person.is_active or not wants(person, message.kind, message.channel):
        return False
    return Membership.objects.filter(
        garden=message.garden, person=person, left_on__isnull=True
    ).exists()


def _open_tasks(message: Message) -> list[Task]:
    return list(
        Task.objects.filter(announced__message=message, state=Task.State.OPEN)
        .select_related("plant__place", "sowing__place", "sowing__variety")
        .order_by("latest", "kind", "pk")
    )


def _close(mine: QuerySet[Message], state: str) -> None:
    mine.update(state=state, claim=None, lease_until=None)


def _put_off(
    mine: QuerySet[Message], message: Message, why: str, now: datetime, *, permanent: bool
) -> None:
    tried = message.attempts
    if permanent or tried > len(BACKOFF):
        mine.update(state=Message.State.FAILED, last_error=why[:300], claim=None, lease_until=None)
        return
    mine.update(
        not_before=now + BACKOFF[tried - 1], last_error=why[:300], claim=None, lease_until=None
    )
