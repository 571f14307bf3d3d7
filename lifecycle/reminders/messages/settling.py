"""What becomes of a claimed message that was not sent: put off, given back, cancelled, failed.

Each is one conditional UPDATE on a row that the claim still covers.
"""

import hashlib
import logging
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

from lifecycle.models import Message
from lifecycle.reminders.messages.claiming import held, tell_anew

BACKOFF = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=6),
)
JITTER = 0.1
ERROR_LENGTH = 300
MORNING = "due"
"""The composer of the morning message, which writes of its items."""

log = logging.getLogger(__name__)


def wait_after(key: str, tried: int) -> timedelta:
    """Return how long a message waits after ``tried`` failures, give or take a tenth.

    The same message waits as long whenever it is asked, and two messages do not wait alike:
    a server that comes back is not met by all of them at once.
    """
    digest = hashlib.sha256(f"{key}:{tried}".encode()).digest()
    share = int.from_bytes(digest[:4], "big") / 2**32
    return BACKOFF[tried - 1] * (1 - JITTER + 2 * JITTER * share)


def cancel(message: Message, token: UUID) -> None:
    """Close a message that has nothing left to say, or nobody to say it to.

    Its tasks are free to be announced anew.
    """
    with transaction.atomic():
        if _settle(message, token, state=Message.State.CANCELLED):
            tell_anew([message.pk])


def give_back(message: Message, token: UUID, why: str = "") -> None:
    """Free a message that was not tried: the attempt does not count."""
    told = {"last_error": why[:ERROR_LENGTH]} if why else {}
    _settle(message, token, attempts=F("attempts") - 1, **told)


def wait_until(message: Message, token: UUID, opens: datetime) -> None:
    """Free a message that may not go out before ``opens``."""
    _settle(message, token, attempts=F("attempts") - 1, not_before=opens)


def put_off(message: Message, token: UUID, why: str, now: datetime, *, lasting: bool) -> None:
    """Note a failed attempt: tried again after a growing wait, or failed for good."""
    why = why[:ERROR_LENGTH]
    if lasting or message.attempts > len(BACKOFF):
        log.error("Message %s failed: %s", message.key, why)
        _fail(message, token, why)
    else:
        again = now + wait_after(message.key, message.attempts)
        _settle(message, token, not_before=again, last_error=why)


def _fail(message: Message, token: UUID, why: str) -> None:
    failed = {"state": Message.State.FAILED, "subject": message.subject, "last_error": why}
    with transaction.atomic():
        # A failed morning message keeps its tasks: sent again, they are what it says.
        if _settle(message, token, **failed) and message.about != MORNING:
            tell_anew([message.pk])


def _settle(message: Message, token: UUID, **columns: Any) -> bool:
    mine = held(token).filter(pk=message.pk)
    return bool(mine.update(claim=None, lease_until=None, **columns))
