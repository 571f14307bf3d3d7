"""Tasks of who is away pass to who covers, and come back when the days are over.

Both are found from the record, so that doing them twice, or late, is doing them once: what a task
says happened last is that it was passed on, and to whom. Who covers may be away too; a task goes
back to the first of those it came from whose cover is over.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from lifecycle.models import Away, Garden, Membership, Person, Task, TaskEvent
from lifecycle.records.work.cover_chain import HAD_TAKEN, WAS_COVERED, Passed, chains_of
from lifecycle.records.work.minding import MINDER, WORKING_ROLES, still_working
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note
from lifecycle.records.work.task_rows import lock_tasks

Act = TaskEvent.Act
GONE = "who had it does no work here any more"
"""Note of a giving back: the person left, or is here to read."""

SAID_NO = Q(act__in=[Act.DECLINED, Act.GIVEN]) | Q(act=Act.GIVEN_BACK, by__isnull=False)
"""In a query of events: somebody decided anew who has the task."""


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
    """Give the work of who is away today to who agreed to cover; returns how many tasks."""
    stretches = _covered(garden_id, today).select_related("person", "cover").order_by("pk")
    return sum(pass_for(away, now=now) for away in stretches)


def pass_for(away: Away, *, now: datetime) -> int:
    """Give the work of days away that have begun to who agreed to cover; returns how many tasks.

    It is the open tasks whose best day falls on the days away, but for those that who covers
    declined, or that somebody else decided about since they were passed on.
    """
    theirs = _theirs(away)
    found = list(theirs.order_by("pk").values_list("pk", flat=True))
    if not found or away.cover is None:
        return 0
    with transaction.atomic():
        # Whoever leaves holds their membership before their tasks.
        cover = Membership.objects.filter(
            garden=away.garden_id, person=away.cover, left_on__isnull=True
        ).select_for_update(no_key=True)
        if not any(each.role in WORKING_ROLES for each in cover):
            return 0
        locked = lock_tasks(away.garden_id, found)
        # Between looking and locking somebody may have closed one or taken it.
        tasks = [locked[pk] for pk in theirs.filter(pk__in=found).values_list("pk", flat=True)]
        held = [task for task in tasks if task.assignee_id is None]
        taken = [task for task in tasks if task.assignee_id is not None]
        for some, why in ((held, ""), (taken, HAD_TAKEN)):
            Task.objects.filter(pk__in=[task.pk for task in some]).update(assignee=away.cover)
            note(some, Act.COVERED, now=now, by=away.person, to=away.cover, why=why)
        let_lapse([task.pk for task in tasks], now=now)
    return len(tasks)


def _theirs(away: Away) -> QuerySet[Task]:
    """Return the tasks that are to pass on with these days away."""
    passed = TaskEvent.objects.filter(
        task=OuterRef(OuterRef("pk")),
        act=Act.COVERED,
        by=away.person_id,
        to=away.cover_id,
        at__gte=away.cover_agreed_at,
    )
    decided = TaskEvent.objects.filter(
        SAID_NO, task=OuterRef("pk"), pk__gt=Subquery(passed.order_by("pk").values("pk")[:1])
    )
    return Task.objects.annotate(minder=MINDER).filter(
        ~Exists(decided),
        garden=away.garden_id,
        state=Task.State.OPEN,
        minder=away.person_id,
        best__range=(away.first_day, away.last_day),
    )


def to_pass(stretches: Iterable[Away]) -> dict[int, int]:
    """Return how many open tasks known now would pass on with each stretch away. One query."""
    listed = list(stretches)
    if not listed:
        return {}
    days = (min(each.first_day for each in listed), max(each.last_day for each in listed))
    open_tasks = Task.objects.annotate(minder=MINDER).filter(
        garden__in={each.garden_id for each in listed},
        state=Task.State.OPEN,
        minder__in={each.person_id for each in listed},
        best__range=days,
    )
    found = list(open_tasks.values_list("garden", "minder", "best"))
    return {
        each.pk: sum(
            (garden, minder) == (each.garden_id, each.person_id)
            and each.first_day <= best <= each.last_day
            for garden, minder, best in found
        )
        for each in listed
    }


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


def back_from(garden_id: int, *, now: datetime, leaving: int | None = None) -> int:
    """Bring back the open tasks whose cover is over; returns how many.

    They go to whoever had them: by name, or as the holder of their plant. ``leaving`` is the
    number of a person who goes just now: what they cover goes back, what was theirs is free.
    """
    passed = Task.objects.filter(
        WAS_COVERED, garden=garden_id, state=Task.State.OPEN, assignee__isnull=False
    )
    having = dict(passed.order_by("pk").values_list("pk", "assignee"))
    if not having:
        return 0
    going_on = _going_on(garden_id, now, leaving)
    chains = chains_of(having)
    over = [pk for pk, has in having.items() if _over(chains[pk], has, going_on) is not None]
    if not over:
        return 0
    with transaction.atomic():
        return put_right(lock_tasks(garden_id, over).values(), now=now, leaving=leaving)


def put_right(tasks: Iterable[Task], *, now: datetime, leaving: int | None = None) -> int:
    """See that none of these open tasks is with somebody who should not have it.

    What is with a cover that is over goes back; what is with, or would go to, somebody who does
    no work in the garden any more is nobody's. Call it inside the transaction that opens tasks
    again or has locked them. Returns how many changed hands.
    """
    by_garden: defaultdict[int, list[Task]] = defaultdict(list)
    for task in tasks:
        if task.state == Task.State.OPEN and task.assignee_id is not None:
            by_garden[task.garden_id].append(task)
    return sum(_put_right(pk, some, now, leaving) for pk, some in by_garden.items())


def _put_right(garden_id: int, tasks: list[Task], now: datetime, leaving: int | None) -> int:
    going_on = _going_on(garden_id, now, leaving)
    chains = chains_of([task.pk for task in tasks])
    had = {task.assignee_id for task in tasks} | {p.by for chain in chains.values() for p in chain}
    working = still_working(garden_id, {pk for pk in had if pk}) - {leaving}
    people = Person.objects.in_bulk(working)
    changed = []
    for task in tasks:
        over = _over(chains[task.pk], task.assignee_id, going_on)
        if over is None and task.assignee_id in working:
            continue
        back = people.get(over.by) if over is not None else None
        task.assignee = back if over is not None and over.taken else None
        task.save(update_fields=["assignee"])
        note([task], Act.GIVEN_BACK, now=now, to=back, why="" if back is not None else GONE)
        changed.append(task.pk)
    if changed:
        let_lapse(changed, now=now)
    return len(changed)


def _over(
    chain: Sequence[Passed], assignee: int | None, going_on: set[tuple[int, int]]
) -> Passed | None:
    """Return the first cover of a chain that is over, where the task is still with its last."""
    if not chain or chain[-1].to != assignee:
        return None
    return next((each for each in chain if (each.by, each.to) not in going_on), None)


def _going_on(garden_id: int, now: datetime, leaving: int | None) -> set[tuple[int, int]]:
    """Return who is away now and who covers, as pairs."""
    site = Garden.objects.get(pk=garden_id).sites.order_by("pk").first()
    today = site.local_day(now) if site is not None else now.date()
    pairs = _covered(garden_id, today).values_list("person", "cover")
    return {(by, to) for by, to in pairs if leaving not in (by, to)}
