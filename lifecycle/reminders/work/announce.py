"""The morning message: a task when its window opens, and once more on its last day.

A person gets at most one a day and channel from a garden, and only on days with something due;
what opens later that day goes into tomorrow's. Each task is told once a stage, a person and a
channel: twice in all, however long nobody does it. What others do about a neglected task is
``escalation``.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet
from django.db.models.expressions import Combinable

from lifecycle.care.catalogue import ROUTINE
from lifecycle.models import Message, MessageItem, Person, Site
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.work.audience import Audience, audience_of, nobody_of, open_tasks

KEPT_DAYS = 3
"""A message that could not go out for this long is stale; its tasks are announced anew."""

LATE_FOR = timedelta(days=3)
"""The reminder of the last day is given on it, or up to two days after, where ticks stood still."""

Stage = MessageItem.Stage
Told = tuple[int, str]
"""A task by its number, and the stage at which it is told."""


def announce_all(*, now: datetime) -> int:
    """Announce what opened and what ends today, at every site. Returns items written."""
    return sum(announce_site(site, now=now) for site in Site.objects.order_by("pk"))


def announce_site(site: Site, *, now: datetime) -> int:
    """Announce the due tasks of one site to who minds them; what nobody minds to its leads."""
    today = site.local_day(now)
    audience = audience_of(site.garden_id, Message.Kind.DUE)
    due = open_tasks(site).filter(earliest__lte=today)
    fresh: defaultdict[tuple[int, str], list[Told]] = defaultdict(list)
    for stage, tasks in ((Stage.OPENED, due), (Stage.LATE, _ending(due, today))):
        for channel in audience.by_channel:
            for task_id, person_id in _not_told(tasks, stage, channel, audience):
                fresh[person_id, channel].append((task_id, stage))
    return sum(
        tell_in_the_morning(site, audience.people[person_id], channel, told, now=now)
        for (person_id, channel), told in fresh.items()
    )


def _ending(due: QuerySet[Any], today: date) -> QuerySet[Any]:
    """Return the tasks whose last day is today; of a round the next one is reminder enough."""
    return due.exclude(kind__in=ROUTINE).filter(latest__lte=today, latest__gt=today - LATE_FOR)


def _not_told(
    tasks: QuerySet[Any], stage: str, channel: str, audience: Audience
) -> list[tuple[int, int]]:
    """Return tasks with whom to tell of them on a channel, in the order in which they opened."""
    wanting = audience.by_channel[channel]
    if not wanting:
        return []
    own = tasks.filter(minder__in=wanting)
    found = _fresh(own, stage, channel, OuterRef("minder")).values_list("pk", "minder", "earliest")
    listed = [(earliest, pk, minder) for pk, minder, earliest in found]
    unminded = tasks.filter(nobody_of(audience.people))
    leads = sorted(audience.leads & wanting)
    if leads and unminded.exists():
        for lead in leads:
            rows = _fresh(unminded, stage, channel, lead).values_list("pk", "earliest")
            listed += [(earliest, pk, lead) for pk, earliest in rows]
    return [(pk, person_id) for _, pk, person_id in sorted(listed)]


def _fresh(
    tasks: QuerySet[Any], stage: str, channel: str, person: int | Combinable | OuterRef
) -> QuerySet[Any]:
    """Return the tasks that this person was not told at this stage.

    The last day is told to who knew of the task before it: to others it has only just opened.
    """
    items = MessageItem.objects.filter(task=OuterRef("pk"), person=person, channel=channel)
    fresh = tasks.filter(~Exists(items.filter(stage=stage)))
    if stage == Stage.LATE:
        before = items.filter(stage=Stage.OPENED, message__for_day__lt=OuterRef("latest"))
        fresh = fresh.filter(Exists(before))
    return fresh


def morning_key(site: Site, person: Person, channel: str, now: datetime) -> str:
    """Return the key of a person's one message of the site's day from its garden on a channel."""
    return f"due:{site.garden_id}:{person.pk}:{site.local_day(now):%Y-%m-%d}:{channel}"


def tell_in_the_morning(
    site: Site, person: Person, channel: str, told: Iterable[Told], *, now: datetime
) -> int:
    """Put tasks into a person's message of the day, unless it went out; returns items written."""
    today = site.local_day(now)
    not_before = next_open_hour(now, site.time_zone)
    with transaction.atomic():
        message, _ = Message.objects.get_or_create(
            key=morning_key(site, person, channel, now),
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
                MessageItem(message=locked, task_id=pk, person=person, channel=channel, stage=stage)
                for pk, stage in told
            ],
            ignore_conflicts=True,
        )
    return len(made)
