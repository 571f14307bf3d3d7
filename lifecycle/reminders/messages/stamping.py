"""The two statements that every message costs: is it still mine, and it was sent.

In plain SQL, the same on both databases: the query built anew for each message costs more
than the database does, and ten thousand go out in one run.
"""

import logging
import time
from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import InterfaceError, OperationalError, connection

from lifecycle.models import Message

STAMP_WAIT = 0.5
"""Seconds between tries of a stamp."""
STAMP_TRIES = 40
"""A database that starts again is worth the wait: what is not stamped is sent once more."""
_MINE = "id = %s AND claim = %s AND state = %s"
_IS_MINE = f"SELECT 1 FROM lifecycle_message WHERE {_MINE}"  # nosec B608 # a constant
_STAMP = (
    "UPDATE lifecycle_message SET state = %s, sent_at = %s, subject = %s, body = %s, html = %s, "
    f"claim = NULL, lease_until = NULL, last_error = '' WHERE {_MINE}"  # nosec B608 # a constant
)

log = logging.getLogger(__name__)


def is_held(message: Message, token: UUID) -> bool:
    """Return whether the holder of ``token`` may still send ``message``."""
    with connection.cursor() as cursor:
        cursor.execute(_IS_MINE, _mine(message, token))
        return cursor.fetchone() is not None


def stamp(message: Message, token: UUID, now: datetime) -> bool:
    """Note that ``message`` was sent, with its words. Until then it may be sent once more."""
    return patiently(lambda: _stamp_once(message, token, now))


def patiently(stamp_once: Callable[[], bool]) -> bool:
    """Stamp, again and again while the database is away for a while."""
    for _ in range(STAMP_TRIES):
        try:
            return stamp_once()
        except (OperationalError, InterfaceError):
            connection.close()
            time.sleep(STAMP_WAIT)
    return stamp_once()


def _stamp_once(message: Message, token: UUID, now: datetime) -> bool:
    written = [
        Message.State.SENT.value,
        connection.ops.adapt_datetimefield_value(now),
        message.subject,
        message.body,
        message.html,
    ]
    with connection.cursor() as cursor:
        cursor.execute(_STAMP, [*written, *_mine(message, token)])
        done = cursor.rowcount
    if not done:
        log.warning("Message %s was sent after its lease had run out.", message.key)
    return bool(done)


def _mine(message: Message, token: UUID) -> list[Any]:
    claim = Message._meta.get_field("claim").get_db_prep_value(token, connection)
    return [message.pk, claim, Message.State.PENDING.value]
