"""What the reader of a message does with it."""

from datetime import datetime

from lifecycle.models import Message


def mark_read(message: Message, *, now: datetime) -> None:
    """Note when a message was first opened; later readings leave that as it is."""
    Message.objects.filter(pk=message.pk, read_at__isnull=True).update(read_at=now)
