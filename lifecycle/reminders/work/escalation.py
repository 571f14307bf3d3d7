"""What becomes of a task that nobody does: offered to others of its bed, then shown to leads.

Three days after its last day it is offered once to whoever else holds plants in the same
place; three days later it stands among the problems of the garden's coordinators. Nobody is
reminded daily. Steps of a round are left out: the next one of the round comes by itself.
"""

from collections import defaultdict
from collections.abc import Collection
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from lifecycle.care.catalogue import ROUTINE
from lifecycle.life.phases import Phase
from lifecycle.models import BedHolding, Message, MessageItem, Plant, Site, Sowing, Task, TaskEvent
from lifecycle.records.work.task_history import note
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.audience import Audience, audience_of, open_tasks

OFFER_AFTER = timedelta(days=3)
RAISE_AFTER = timedelta(days=3)
KEPT = timedelta(days=3)


def escalate_all(*, now: datetime) -> int:
    """Escalate what is neglected, at every site. Returns how many tasks changed."""
    return sum(escalate_site(site, now=now) for site in Site.objects.order_by("pk"))


def escalate_site(site: Site, *, now: datetime) -> int:
    """Offer and raise the neglected tasks of one site; returns how many changed."""
    today = site.local_day(now)
    neglected = Task.objects.filter(site=site, state=Task.State.OPEN).exclude(kind__in=ROUTINE)
    # The plan moved its window: it is not neglected any more, or not yet.
    changed = neglected.filter(offered_on__isnull=False, latest__gt=today - OFFER_AFTER).update(
        offered_on=None, raised_on=None
    )
    to_raise = neglected.filter(offered_on__lte=today - RAISE_AFTER, raised_on__isnull=True)
    if to_raise.exists():
        changed += _raise(to_raise, today, now)
    late = neglected.filter(latest__lte=today - OFFER_AFTER, offered_on__isnull=True)
    if late.exists():
        changed += _offer(site, today, now)
    return changed


def _raise(tasks: QuerySet[Task], today: date, now: datetime) -> int:
    """Show the coordinators what was offered and nobody took."""
    with transaction.atomic():
        locked = list(tasks.select_for_update().order_by("pk"))
        Task.objects.filter(pk__in=[task.pk for task in locked]).update(raised_on=today)
        note(locked, TaskEvent.Act.RAISED, now=now)
    return len(locked)


def _offer(site: Site, today: date, now: datetime) -> int:
    """Offer what is late to the others of each place, each task once."""
    audience = audience_of(site.garden_id, Message.Kind.HANDED)
    with transaction.atomic():
        late = list(
            Task.objects.select_for_update()
            .filter(
                site=site,
                state=Task.State.OPEN,
                latest__lte=today - OFFER_AFTER,
                offered_on__isnull=True,
            )
            .exclude(kind__in=ROUTINE)
            .order_by("pk")
        )
        locked = [task.pk for task in late]
        rows = list(
            open_tasks(site)
            .filter(pk__in=locked)
            .order_by("latest", "pk")
            .values("pk", "minder", "where", "chore")
        )
        # A step of what stands nowhere has no neighbours; a chore of the site has them all.
        rows = [row for row in rows if row["where"] is not None or row["chore"] is not None]
        holders = _holders(site, {row["where"] for row in rows}, audience)
        offers: defaultdict[int, dict[int, int | None]] = defaultdict(dict)
        for row in rows:
            for person_id in holders[row["where"]] - {row["minder"]}:
                offers[person_id][row["pk"]] = row["minder"]
        for person_id, tasks in sorted(offers.items()):
            _tell(site, audience, person_id, tasks, now)
        note(late, TaskEvent.Act.TO_OTHERS, now=now)
        return Task.objects.filter(pk__in=locked).update(offered_on=today)


def _holders(
    site: Site, places: Collection[int | None], audience: Audience
) -> defaultdict[Any, set[int]]:
    """Return by place who may work there and holds the plot, or something living in it.

    What has no place, as a chore of a whole site, is for all who hold something living there.
    """
    found: defaultdict[Any, set[int]] = defaultdict(set)
    anywhere = None in places
    where = {"site": site} if anywhere else {"place__in": places}
    for table in (Plant, Sowing):
        living = table.objects.filter(holder__in=audience.workers, **where)
        rows = living.exclude(phase=Phase.ENDED).values_list("place", "holder").distinct()
        for place, holder in rows:
            found[place].add(holder)
            found[None if anywhere else place].add(holder)
    plots = BedHolding.objects.filter(
        place__in=places, person__in=audience.workers, until__isnull=True
    )
    for place, holder in plots.values_list("place", "person"):
        found[place].add(holder)
    return found


def _tell(
    site: Site, audience: Audience, person_id: int, tasks: dict[int, int | None], now: datetime
) -> None:
    """Write one offer to one person. ``tasks`` names who minded each of them so far."""
    not_before = next_open_hour(now, site.time_zone)
    person = audience.people[person_id]
    messages = put(
        site.garden,
        person,
        # A task is offered once, so its number tells this offer from any other of the day.
        key=f"offered:{site.pk}:{person_id}:{site.local_day(now)}:{min(tasks)}",
        kind=Message.Kind.HANDED,
        level=Message.Level.DUE,
        about="offered",
        data={"site": site.pk, "minders": {str(pk): minder for pk, minder in tasks.items()}},
        for_day=site.local_day(now),
        not_before=not_before,
        expires_at=not_before + KEPT,
        now=now,
        channels=audience.channels_of(person_id),
    )
    MessageItem.objects.bulk_create(
        [
            MessageItem(
                message=message,
                task_id=pk,
                person=person,
                channel=message.channel,
                stage=MessageItem.Stage.OFFERED,
            )
            for message in messages
            for pk in tasks
        ],
        ignore_conflicts=True,
    )
