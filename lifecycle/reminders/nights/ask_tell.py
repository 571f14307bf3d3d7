"""Put one person's message about a frost night into the outbox."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import transaction

from lifecycle.models import Ask, FrostNight, Message, Person
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.outbox import put


def ask_key(about: str, ask: Ask) -> str:
    """Return the key of a message about one ask; asked anew on a later rung it is another one."""
    return f"{about}:{ask.pk}:{ask.rung}"


def mark_said(night: FrostNight, step: str) -> None:
    """Note that a step that is taken once was taken.

    It only saves looking again: whatever is lost of it, no message is written twice.
    """
    with transaction.atomic():
        row = FrostNight.objects.select_for_update().get(pk=night.pk)
        night.said = [*row.said, step]
        FrostNight.objects.filter(pk=night.pk).update(said=night.said)


def tell(
    night: FrostNight,
    person: Person,
    about: str,
    *,
    level: str,
    now: datetime,
    expires_at: datetime,
    kind: str = Message.Kind.FROST,
    ask: Ask | None = None,
    run: int | None = None,
    channels: Iterable[str] | None = None,
    **ids: Any,
) -> int:
    """Tell a person something about a night, once; 1 if that was new.

    ``run`` tells apart the times a night was asked for. Only Act now goes out in quiet hours;
    what would expire in them is not written at all.
    """
    loud = level == Message.Level.ACT_NOW
    not_before = now if loud else next_open_hour(now, night.site.time_zone)
    if not_before >= expires_at:
        return 0
    scope = night.pk if run is None else f"{night.pk}:{run}"
    made = put(
        night.garden,
        person,
        key=ask_key(about, ask) if ask is not None else f"{about}:{scope}:{person.pk}",
        kind=kind,
        level=level,
        about=about,
        data={"night": night.pk, **({"ask": ask.pk} if ask is not None else {}), **ids},
        for_day=night.night,
        not_before=not_before,
        expires_at=expires_at,
        now=now,
        channels=channels,
    )
    return 1 if made else 0
