"""Tasks of who is away pass to who covers, and come back when the days are over.

Both are found from the record, so that doing them twice, or late, is doing them once: what a task
says happened last is that it was passed on, and to whom.
"""

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from lifecycle.models import Away, Garden, Membership, Person, Task, TaskEvent
from lifecycle.records.work.minding import MINDER, WORKING_ROLES
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note
from lifecycle.records.work.task_rows import lock_tasks

Act = TaskEvent.Act
HAD_TAKEN = "had taken it"
"""Note of a passing on: it was given to the person or taken by them, not only held."""

HANDS = (
    *(Act.TAKEN, Act.GIVEN, Act.GIVEN_BACK, Act.DECLINED, Act.SWAPPED, Act.COVERED),
    *(Act.HANDED_OVER, Act.LEFT),
)
"""What changes who has a task."""


def cover_all(*, now: datetime) -> int:
    """Pass on and bring back what is due, in every garden; returns how many tasks changed."""
    changed = 0
    gardens = Garden.objects.filter(Exists(Away.objects.filter(garden=OuterRef("pk"))))
    for garden in gardens.order_by("pk"):
        site = garden.sites.order_by("pk").first()
        if site is not None:
            changed += back_from(garden.pk, now=now)
            changed += pass_on(garden.pk, site.local_day(now), now=now)
    return changed


def pass_on(garden_id: int, today: date, *, now: datetime) -> int:
    """Give the work of who is away today to who agreed to cover; returns how many tasks.

    It is the open tasks whose best day falls on the days away.
    """
    changed = 0
    for away in _covered(garden_id, today).select_related("person", "cover").order_by("pk"):
        days = (away.first_day, away.last_day)
        theirs = Task.objects.annotate(minder=MINDER).filter(
            garden=garden_id, state=Task.State.OPEN, minder=away.person_id, best__range=days
        )
        found = list(theirs.values_list("pk", flat=True))
        if found and away.cover is not None:
            changed += _pass(garden_id, found, away.person, away.cover, now)
    return changed


def _covered(garden_id: int, today: date) -> QuerySet[Away]:
    """Return who is away today and covered by somebody who still may work here."""
    working = Membership.objects.filter(
        garden=garden_id, person=OuterRef("cover"), left_on__isnull=True, role__in=WORKING_ROLES
    )
    return Away.objects.filter(
        Exists(working),
        garden=garden_id,
        first_day__lte=today,
        last_day__gte=today,
        cover__isnull=False,
        cover_agreed_at__isnull=False,
    )


def _pass(garden_id: int, ids: list[int], who: Person, cover: Person, now: datetime) -> int:
    with transaction.atomic():
        locked = lock_tasks(garden_id, ids).values()
        held = _with(locked, None)
        taken = _with(locked, who.pk)
        for tasks, why in ((held, ""), (taken, HAD_TAKEN)):
            Task.objects.filter(pk__in=[task.pk for task in tasks]).update(assignee=cover)
            note(tasks, Act.COVERED, now=now, by=who, to=cover, why=why)
        let_lapse([task.pk for task in (*held, *taken)], now=now)
    return len(held) + len(taken)


def _with(tasks: Iterable[Task], person: int | None) -> list[Task]:
    """Return the open ones of locked tasks that are with this person, or with nobody."""
    return [task for task in tasks if task.state == Task.State.OPEN and task.assignee_id == person]


def back_from(garden_id: int, *, now: datetime) -> int:
    """Bring back the open tasks whose cover is over; returns how many.

    They go to whoever had them: by name, or as the holder of their plant.
    """
    last = TaskEvent.objects.filter(task=OuterRef("pk"), act__in=HANDS).order_by("-at", "-pk")
    passed = Task.objects.filter(
        Exists(TaskEvent.objects.filter(task=OuterRef("pk"), act=Act.COVERED)),
        garden=garden_id,
        state=Task.State.OPEN,
        assignee__isnull=False,
    ).annotate(
        how=Subquery(last.values("act")[:1]),
        whose=Subquery(last.values("by")[:1]),
        cover=Subquery(last.values("to")[:1]),
    )
    passed = passed.filter(how=Act.COVERED, cover=F("assignee"))
    going_on = _still_covered(garden_id, now)
    over = [task.pk for task in passed.order_by("pk") if (task.whose, task.cover) not in going_on]
    return _bring_back(garden_id, over, now) if over else 0


def _still_covered(garden_id: int, now: datetime) -> set[tuple[int, int]]:
    """Return who is away now and who covers, as pairs."""
    site = Garden.objects.get(pk=garden_id).sites.order_by("pk").first()
    today = site.local_day(now) if site is not None else now.date()
    rows = Away.objects.filter(
        Q(first_day__lte=today, last_day__gte=today),
        garden=garden_id,
        cover_agreed_at__isnull=False,
        cover__isnull=False,
    )
    return {(person, cover) for person, cover in rows.values_list("person", "cover") if cover}


def _bring_back(garden_id: int, ids: list[int], now: datetime) -> int:
    changed = 0
    with transaction.atomic():
        locked = lock_tasks(garden_id, ids)
        for pk, task in locked.items():
            event = (
                TaskEvent.objects.filter(task=pk, act__in=HANDS)
                .select_related("by")
                .order_by("-at", "-pk")
                .first()
            )
            # Between looking and locking somebody may have closed it or passed it on.
            if task.state != Task.State.OPEN or event is None or event.act != Act.COVERED:
                continue
            if task.assignee_id != event.to_id:
                continue
            task.assignee = event.by if event.note == HAD_TAKEN else None
            task.save(update_fields=["assignee"])
            note([task], Act.GIVEN_BACK, now=now, to=event.by)
            let_lapse([pk], now=now)
            changed += 1
    return changed
