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
    site = (given or published.gone[person_id])[0].site
    not_before = next_open_hour(now, site.time_zone)
    messages = put(
        actor.garden,
        audience.people[person_id],
        key=f"{ABOUT}:{publication.pk}:{person_id}",
        kind=Message.Kind.HANDED,
        level=Message.Level.DUE,
        about=ABOUT,
        data={"publication": publication.pk},
        for_day=site.local_day(now),
        not_before=not_before,
        expires_at=not_before + KEPT,
        now=now,
        channels=audience.channels_of(person_id),
    )
    MessageItem.objects.bulk_create(_opened(messages, person_id, given, now), ignore_conflicts=True)


def _opened(
    messages: Iterable[Message], person_id: int, given: Iterable[Task], now: datetime
) -> list[MessageItem]:
    """Return what keeps the next morning from telling again of what may be done already.

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
        if task.earliest <= task.site.local_day(now)
    ]
