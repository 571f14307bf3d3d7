"""Put tasks whose window has opened into messages: once a person, a task and a channel.

A person gets at most one message a day and channel from a garden; what opens later that
day goes into tomorrow's.
"""

from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce

from lifecycle.models import Membership, Message, MessageItem, Person, Role, Site, Task
from lifecycle.records.message_choices import channels_for
from lifecycle.reminders.clock import next_open_hour

KEPT_DAYS = 3
"""A message that could not go out for this long is stale; its tasks are announced anew."""


def announce_all(*, now: datetime) -> int:
    """Announce every open task whose window has opened. Returns items written."""
    written = 0
    for site in Site.objects.order_by("pk"):
        written += announce_site(site, now=now)
    return written


def announce_site(site: Site, *, now: datetime) -> int:
    """Announce the due tasks of one site to who looks after them."""
    today = site.local_day(now)
    due = Task.objects.filter(site=site, state=Task.State.OPEN, earliest__lte=today).annotate(
        minder=Coalesce("assignee_id", "plant__holder_id", "sowing__holder_id")
    )
    members = _members(site.garden_id)
    leads = [
        member.person
        for member in members.values()
        if member.role in (Role.COORDINATOR, Role.OWNER)
    ]
    written = 0
    for person in [member.person for member in members.values()]:
        for channel in channels_for(person, Message.Kind.DUE):
            mine = Q(minder=person.pk)
            if person in leads:
                mine |= Q(minder__isnull=True) | ~Q(minder__in=list(members))
            fresh = due.filter(mine).filter(~Exists(_item(person, channel)))
            ids = list(fresh.order_by("earliest", "pk").values_list("pk", flat=True))
            if ids:
                written += _add(site, person, channel, ids, today, now)
    return written


def _members(garden_id: int) -> dict[int, Membership]:
    rows = Membership.objects.filter(
        garden_id=garden_id, left_on__isnull=True, person__is_active=True
    ).select_related("person")
    return {member.person_id: member for member in rows.order_by("pk")}


def _item(person: Person, channel: str) -> QuerySet[MessageItem]:
    return MessageItem.objects.filter(task=OuterRef("pk"), person=person, channel=channel)


def _add(
    site: Site, person: Person, channel: str, task_ids: list[int], today: date, now: datetime
) -> int:
    not_before = next_open_hour(now, site.time_zone)
    with transaction.atomic():
        message, _ = Message.objects.get_or_create(
            key=f"due:{site.garden_id}:{person.pk}:{today:%Y-%m-%d}:{channel}",
            defaults={
                "garden_id": site.garden_id,
                "person": person,
                "channel": channel,
                "for_day": today,
                "not_before": not_before,
                "expires_at": not_before + timedelta(days=KEPT_DAYS),
                "made_at": now,
            },
        )
        locked = Message.objects.select_for_update().get(pk=message.pk)
        if locked.state != Message.State.PENDING or locked.claim is not None:
            return 0
        made = MessageItem.objects.bulk_create(
            [
                MessageItem(message=locked, task_id=pk, person=person, channel=channel)
                for pk in task_ids
            ],
            ignore_conflicts=True,
        )
    return len(made)
