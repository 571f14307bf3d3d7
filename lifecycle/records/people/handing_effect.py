"""What a hand-over does on its day: entries, the holding of a plot, and the tasks that move."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db.models import Q, QuerySet

from lifecycle.care.wording import short_date
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from lifecycle.models import (
    BedHolding,
    HandOver,
    HandOverItem,
    Membership,
    Place,
    Plant,
    Sowing,
    Task,
    TaskEvent,
)
from lifecycle.records.crops import ledger
from lifecycle.records.crops.beginnings import part_of
from lifecycle.records.crops.plants import write_hand_over
from lifecycle.records.people.handing_load import holds, may_receive, members_today
from lifecycle.records.refusal import Refused
from lifecycle.records.work import task_history
from lifecycle.records.work.cover_chain import covered_for
from lifecycle.records.work.open_offers import let_lapse

WHY_LENGTH = 200


def settle(held: HandOver, day: date, *, now: datetime) -> None:
    """Carry out a locked hand-over from ``day`` on, inside the caller's transaction.

    What ended, was moved out of the bed or passed to somebody else meanwhile is left out and said
    in ``why``. Where nothing is left, or the receiver has gone, it comes to nothing.
    """
    items = list(held.items.select_related("plant", "sowing", "place__site").order_by("pk"))
    if not may_receive(held.to_id, held.garden_id):
        _end(held, HandOver.State.CANCELLED, "The receiver cannot look after it any more.", now)
        return
    by = Membership.objects.filter(garden=held.garden_id, person=held.by_id).latest("pk")
    bed = next((item.place for item in items if item.place is not None), None)
    skipped: list[str] = []
    moved: list[Plant | Sowing] = []
    if bed is not None and not _move_holding(held, bed, day):
        skipped.append(f"{bed} is not the giver’s any more.")
        bed = None
    for item in items:
        record = _locked(item)
        if record is None:
            continue
        why = _why_not(held, record, bed, day) or _written(held, record, by, day, now)
        if why:
            skipped.append(why)
        else:
            moved.append(record)
    move_tasks(held, moved, bed, day, now=now)
    left_out = f"Left out: {' '.join(skipped)}" if skipped else ""
    why = " ".join(filter(None, [held.why, left_out]))
    nothing = not moved and bed is None
    _end(held, HandOver.State.CANCELLED if nothing else HandOver.State.DONE, why, now)


def tasks_moving(
    giver_id: int | None, plants: Sequence[Plant], sowings: Sequence[Sowing], bed: Place | None
) -> QuerySet[Task]:
    """Return the open tasks that go along: the giver's own, and those that nobody was given.

    A task that nobody was given is minded by whoever holds its plant, so it moves of itself. The
    giver's own are also those that somebody has only while the giver is away.
    """
    of_records = Q(plant__in=plants) | Q(sowing__in=sowings) | Q(chore__plant__in=plants)
    minded = Q(assignee__isnull=True) & of_records
    if giver_id is not None:
        theirs = of_records if bed is None else of_records | Q(chore__place=bed)
        minded |= (Q(assignee=giver_id) & theirs) | Q(pk__in=covered_for(giver_id, theirs))
    return Task.objects.filter(minded, state=Task.State.OPEN)


def move_tasks(
    held: HandOver,
    records: Sequence[Plant | Sowing],
    bed: Place | None,
    day: date,
    *,
    now: datetime,
) -> int:
    """Give the open tasks that are not over before ``day`` to the receiver; returns how many."""
    plants = [each for each in records if isinstance(each, Plant)]
    sowings = [each for each in records if isinstance(each, Sowing)]
    moving = tasks_moving(held.giver_id, plants, sowings, bed).filter(latest__gte=day)
    tasks = list(moving.select_for_update(of=("self",)).order_by("pk"))
    Task.objects.filter(pk__in=[task.pk for task in tasks], assignee__isnull=False).update(
        assignee=held.to
    )
    let_lapse([task.pk for task in tasks], now=now)
    task_history.note(tasks, TaskEvent.Act.HANDED_OVER, now=now, by=held.by, to=held.to)
    return len(tasks)


def end_holding(holding: BedHolding, until: date) -> None:
    """End a holding: it runs no more on ``until``. One that began later ends as it began."""
    holding.until = max(holding.since, until)
    holding.save(update_fields=["until"])


def _move_holding(held: HandOver, bed: Place, day: date) -> bool:
    """Pass the plot on; False where the giver does not hold it any more."""
    Place.objects.select_for_update(of=("self",)).get(pk=bed.pk)
    own = BedHolding.objects.filter(place=bed, person=held.giver_id, until__isnull=True).first()
    here = held.giver_id is not None and held.giver_id in members_today(held.garden_id)
    if own is None and here:
        return False
    if own is not None:
        end_holding(own, day)
    if not holds(held.to, bed):
        BedHolding.objects.create(garden_id=held.garden_id, place=bed, person=held.to, since=day)
    return True


def _locked(item: HandOverItem) -> Plant | Sowing | None:
    record: Plant | Sowing | None = item.plant or item.sowing
    return None if record is None else ledger.lock(record)


def _why_not(held: HandOver, record: Plant | Sowing, bed: Place | None, day: date) -> str:
    """Return why this record cannot pass on any more; "" when it can."""
    if not record.alive:
        return f"{record} has ended."
    if bed is not None and record.place_id != bed.pk:
        return f"{record} stands somewhere else now."
    mine = record.holder_id in (None, held.giver_id)
    if not mine and record.holder_id in members_today(held.garden_id):
        return f"{record} has passed to somebody else."
    later = [fact.happened_on for fact in ledger.standing_facts(record) if _passes(fact)]
    if later and max(later) > day:
        return f"{record} was handed over on {short_date(max(later))} already."
    return ""


def _passes(fact: Fact) -> bool:
    return fact.kind is Kind.HANDED_OVER


def _written(
    held: HandOver, record: Plant | Sowing, by: Membership, day: date, now: datetime
) -> str:
    """Write the entry; returns why it cannot be written, or ""."""
    uuid = part_of(held.uuid, f"{ledger.subject_of(record)}-{record.pk}")
    try:
        write_hand_over(by, record, to=held.to, happened_on=day, uuid=uuid, now=now)
    except Refused as refusal:
        return f"{record}: {refusal}"
    return ""


def _end(held: HandOver, state: str, why: str, now: datetime) -> None:
    held.state, held.done_at = state, now
    held.why = why if len(why) <= WHY_LENGTH else f"{why[: WHY_LENGTH - 1]}…"
    held.save(update_fields=["state", "done_at", "answered_at", "why"])
    held.items.update(waits=False)
