"""Put a message into the outbox: once a key and channel, at an hour its level allows."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from lifecycle.models import Garden, Message, Person
from lifecycle.records.messages.message_choices import channels_for


def put(
    garden: Garden,
    person: Person,
    *,
    key: str,
    kind: str,
    level: str,
    about: str,
    data: Mapping[str, Any],
    for_day: date,
    not_before: datetime,
    expires_at: datetime,
    now: datetime,
    channels: Iterable[str] | None = None,
) -> list[Message]:
    """Write one message a channel the person wants this kind on; returns those newly written.

    The same ``key`` twice writes nothing more. ``data`` holds ids only: the words are made
    when it is sent, by the composer ``about``.
    """
    made = []
    for channel in channels if channels is not None else channels_for(person, kind):
        message, created = Message.objects.get_or_create(
            key=f"{key}:{channel}",
            defaults={
                "garden": garden,
                "person": person,
                "channel": channel,
                "kind": kind,
                "level": level,
                "about": about,
                "data": dict(data),
                "for_day": for_day,
                "not_before": not_before,
                "expires_at": expires_at,
                "made_at": now,
            },
        )
        if created:
            made.append(message)
    return made
