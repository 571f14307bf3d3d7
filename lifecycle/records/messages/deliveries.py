"""What a coordinator does about messages that did not reach their people."""

from datetime import datetime, timedelta

from lifecycle.models import Membership, Message
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused

AGAIN = timedelta(days=1)
"""So long a message that is sent again may still take."""
_URGENT = (Message.Level.ACT_TODAY, Message.Level.ACT_NOW)


def retry(actor: Membership, message: Message, *, now: datetime) -> None:
    """Let a failed message go out once more, with all its tries.

    Its words are made when it goes: what has nothing left to say then is cancelled.
    """
    require(actor, "message.lead")
    if message.level in _URGENT and message.expires_at <= now:
        raise Refused("It is too late for this message: it was to be acted on that day. Drop it.")
    _settle(
        actor,
        message,
        state=Message.State.PENDING,
        attempts=0,
        not_before=now,
        expires_at=max(message.expires_at, now + AGAIN),
    )


def drop(actor: Membership, message: Message) -> None:
    """Give a failed message up for good."""
    require(actor, "message.lead")
    _settle(actor, message, state=Message.State.CANCELLED)


def _settle(actor: Membership, message: Message, **columns: object) -> None:
    changed = Message.objects.filter(
        pk=message.pk, garden_id=actor.garden_id, state=Message.State.FAILED
    ).update(**columns)
    if not changed:
        raise Refused("This message is no longer among the failed ones. Load the page again.")
