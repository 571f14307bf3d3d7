"""Publishing the week's work and telling of it: one message a person, however much it is."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction

from lifecycle.models import Membership, Message, MessageItem, Task
from lifecycle.records.work.week_publishing import Published, publish
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.audience import Audience, audience_of

ABOUT = "published"
KEPT = timedelta(days=3)


def publish_and_tell(actor: Membership, *, now: datetime) -> Published:
    """Publish the drafts of the actor's garden and tell everybody it concerns, or do neither.

    Whoever lost work and was given none is told as well. Nothing new tells nobody.
    """
    with transaction.atomic():
        published = publish(actor, now=now)
        if published.publication is not None:
            audience = audience_of(actor.garden_id, Message.Kind.HANDED)
            for person_id in published.people:
                if person_id in audience.people:
                    _tell(actor, published, person_id, audience, now)
    return published


def _tell(
    actor: Membership, published: Published, person_id: int, audience: Audience, now: datetime
) -> None:
    publication = published.publication
    assert publication is not None
    given = published.given.get(person_id, [])
    gone = published.gone.get(person_id, [])
    site = (given or gone)[0].site
    not_before = next_open_hour(now, site.time_zone)
    channels = audience.channels_of(person_id)
    waiting = _waiting(actor.garden_id, person_id, channels, now)
    for message in waiting:
        message.data["publications"].append(publication.pk)
        message.save(update_fields=["data"])
    MessageItem.objects.filter(message__in=waiting, task__in=gone).delete()
    fresh = put(
        actor.garden,
        audience.people[person_id],
        key=f"{ABOUT}:{publication.pk}:{person_id}",
        kind=Message.Kind.HANDED,
        level=Message.Level.DUE,
        about=ABOUT,
        data={"publications": [publication.pk]},
        for_day=site.local_day(not_before),
        not_before=not_before,
        expires_at=not_before + KEPT,
        now=now,
        channels=sorted({*channels} - {message.channel for message in waiting}),
    )
    opened = _opened([*waiting, *fresh], person_id, given)
    MessageItem.objects.bulk_create(opened, ignore_conflicts=True)


def _waiting(
    garden_id: int, person_id: int, channels: Iterable[str], now: datetime
) -> list[Message]:
    """Return the person's messages of earlier publishings that are still to go out, locked.

    What is published while they wait is told in them: one message, however often.
    """
    rows = Message.objects.select_for_update().filter(
        garden=garden_id,
        person=person_id,
        channel__in=channels,
        about=ABOUT,
        state=Message.State.PENDING,
        claim__isnull=True,
        expires_at__gt=now,
    )
    return list(rows.order_by("pk"))


def _opened(
    messages: Iterable[Message], person_id: int, given: Iterable[Task]
) -> list[MessageItem]:
    """Return what keeps the morning from telling again of what may be done already by then.

    A task that opens later in the week is told on its own morning as well: it is news then.
    """
    return [
        MessageItem(
            message=message,
            task=task,
            person_id=person_id,
            channel=message.channel,
            stage=MessageItem.Stage.OPENED,
        )
        for message in messages
        for task in given
        if task.earliest <= task.site.local_day(message.not_before)
    ]
