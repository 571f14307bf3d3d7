"""Tell of promoted tasks: at once where a person may still be interrupted, else in the morning."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime, time

from django.db import transaction
from django.db.models import Exists, F, OuterRef, Q

from lifecycle.models import FrostNight, Message, MessageItem, Person, Site
from lifecycle.records.nights.rota import on_call
from lifecycle.reminders.clock import next_open_hour, wall_time
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.nights.alert_budget import spent
from lifecycle.reminders.work.announce import morning_key, tell_in_the_morning
from lifecycle.reminders.work.audience import Audience, audience_of, nobody_of, open_tasks

ABOUT = "promoted"
DUSK = time(18, 0)
"""The end of the day where a site's sunset is not known. Common practice, no source."""

_FEARED = (FrostNight.State.CALLED, FrostNight.State.POSSIBLE)
Stage = MessageItem.Stage


def tell_promoted(site: Site, closing: Mapping[int, FrostNight], *, now: datetime) -> int:
    """Tell who minds them of the promoted tasks they do not know of; returns people told.

    ``closing`` names by task the night that closes it. Whoever is on call for a frost on the day
    of the message is left that day's one interruption for it.
    """
    audience = audience_of(site.garden_id, Message.Kind.DUE)
    if not _untold(site, audience, closing):
        return 0
    with transaction.atomic():
        # One teller at a time, so that nobody reads of it twice or, between two, not at all.
        Site.objects.select_for_update(no_key=True).get(pk=site.pk)
        return _tell(site, audience, closing, now)


def _tell(site: Site, audience: Audience, closing: Mapping[int, FrostNight], now: datetime) -> int:
    fresh = _untold(site, audience, closing)
    # What is written at night interrupts on the day on which it goes out.
    goes_at = next_open_hour(now, site.time_zone)
    busy = spent(fresh, Message.Level.ACT_TODAY, goes_at, site.time_zone)
    day = site.local_day(goes_at)
    if FrostNight.objects.filter(site=site, night=day, state__in=_FEARED).exists():
        busy |= {turn.person_id for turn in on_call(site, day)}
    told = 0
    for person_id, tasks in fresh.items():
        person = audience.people[person_id]
        channels = audience.channels_of(person_id)
        if person_id in busy:
            told += _in_the_morning(site, person, channels, tasks, now)
        else:
            night = min((closing[pk] for pk in tasks), key=lambda night: night.night)
            told += _at_once(site, person, channels, tasks, night, now)
    return told


def _untold(site: Site, audience: Audience, closing: Iterable[int]) -> dict[int, list[int]]:
    """Return by person those of the tasks that they were not told of since the promotion."""
    promoted = open_tasks(site).filter(pk__in=closing, promoted_on__isnull=False)
    own = promoted.filter(minder__in=audience.people)
    found: defaultdict[int, list[int]] = defaultdict(list)
    for pk, person_id in own.filter(_not_told(OuterRef("minder"))).values_list("pk", "minder"):
        found[person_id].append(pk)
    unminded = promoted.filter(nobody_of(audience.people))
    for lead in sorted(audience.leads):
        for pk in unminded.filter(_not_told(lead)).values_list("pk", flat=True):
            found[lead].append(pk)
    return dict(found)


def _not_told(person: int | OuterRef) -> Q:
    items = MessageItem.objects.filter(
        task=OuterRef("pk"),
        person=person,
        stage=Stage.PROMOTED,
        message__for_day__gte=OuterRef("promoted_on"),
    )
    return Q(~Exists(items))


def _forget_earlier(person: Person, tasks: list[int]) -> None:
    """Free the tasks of what was told of an earlier promotion: this one is another."""
    MessageItem.objects.filter(
        task__in=tasks,
        person=person,
        stage=Stage.PROMOTED,
        message__for_day__lt=F("task__promoted_on"),
    ).delete()


def _in_the_morning(
    site: Site, person: Person, channels: list[str], tasks: list[int], now: datetime
) -> int:
    """Put the tasks into the message of the day; when that went out, tomorrow's takes them."""
    keys = [morning_key(site, person, channel, now) for channel in channels]
    gone = ~Q(state=Message.State.PENDING) | Q(claim__isnull=False)
    if Message.objects.filter(gone, key__in=keys).exists():
        return 0
    _forget_earlier(person, tasks)
    told = [(pk, Stage.PROMOTED.value) for pk in tasks]
    for channel in channels:
        tell_in_the_morning(site, person, channel, told, now=now)
    return 1


def _at_once(
    site: Site,
    person: Person,
    channels: list[str],
    tasks: list[int],
    night: FrostNight,
    now: datetime,
) -> int:
    """Write one message of level Act today, to be done with by dusk before the night."""
    not_before = next_open_hour(now, site.time_zone)
    expires_at = night.sunset_at or wall_time(night.night, DUSK, site.time_zone)
    if not_before >= expires_at:
        return 0
    _forget_earlier(person, tasks)
    today = site.local_day(now)
    messages = put(
        site.garden,
        person,
        key=f"{ABOUT}:{site.pk}:{person.pk}:{today}:{min(tasks)}",
        kind=Message.Kind.DUE,
        level=Message.Level.ACT_TODAY,
        about=ABOUT,
        data={"night": night.pk},
        for_day=today,
        not_before=not_before,
        expires_at=expires_at,
        now=now,
        channels=channels,
    )
    MessageItem.objects.bulk_create(
        [
            MessageItem(
                message=message,
                task_id=pk,
                person=person,
                channel=message.channel,
                stage=Stage.PROMOTED,
            )
            for message in messages
            for pk in tasks
        ],
        ignore_conflicts=True,
    )
    return 1 if messages else 0
