"""Sent e-mail and push rows go after a season; the page keeps what it showed.

With them go sessions that ended, failures to sign in and buckets of tries that count no more, and
what is kept of people who were invited or waited, once that is over.
"""

from datetime import datetime, timedelta

from lifecycle.models import Heartbeat, Message, Task
from lifecycle.records.people import (
    allowance,
    outsiders,
    sessions,
)

KEPT = timedelta(days=90)
EVERY = timedelta(days=1)
AT_ONCE = 1000
NAME = "prune"
_CLOSED = (Message.State.SENT, Message.State.CANCELLED, Message.State.EXPIRED)


def prune_daily(*, now: datetime) -> int:
    """Prune once a day; returns how many rows went."""
    last = Heartbeat.objects.filter(name=NAME, at__gt=now - EVERY)
    if last.exists():
        return 0
    gone = prune(now=now)
    allowance.prune(now=now)
    sessions.prune(now=now)
    outsiders.forget_outsiders(now=now)
    Heartbeat.objects.update_or_create(name=NAME, defaults={"at": now})
    return gone


def prune(*, now: datetime) -> int:
    """Delete old rows of e-mail and push whose words stand on the page as well.

    A row that tells of a task still open stays: without it the task would be told again.
    At most ``AT_ONCE`` rows go in one day.
    """
    old = (
        Message.objects.filter(state__in=_CLOSED, not_before__lt=now - KEPT)
        .exclude(channel=Message.Channel.INBOX)
        .exclude(items__task__state=Task.State.OPEN)
        .order_by("pk")
        .values_list("pk", "key", "channel")[:AT_ONCE]
    )
    twin_of = {
        pk: f"{key.removesuffix(channel)}{Message.Channel.INBOX}" for pk, key, channel in old
    }
    shown = set(Message.objects.filter(key__in=set(twin_of.values())).values_list("key", flat=True))
    gone = [pk for pk, twin in twin_of.items() if twin in shown]
    Message.objects.filter(pk__in=gone).delete()
    return len(gone)
