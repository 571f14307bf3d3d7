"""Refresh the work list: steps that came within the look-ahead become tasks.

A function of the database and ``now``: running it twice, in parallel or a day late gives
the same tasks, because a task carries its step's identity as a unique key.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q

from lifecycle.care.outlook import Ground
from lifecycle.care.steps import Step
from lifecycle.life.fold import fold
from lifecycle.life.phases import Phase
from lifecycle.models import Plant, Site, Sowing, Task, TaskEvent
from lifecycle.models.plants import Projection
from lifecycle.records.crops import ledger
from lifecycle.records.crops.seeds import UNKNOWN_SEED, seed_facts
from lifecycle.records.work.cover import put_right
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note, note_moved, note_withdrawn
from lifecycle.reminders.work.planning import (
    LOOK_AHEAD_DAYS,
    ClimateInUse,
    climate_of,
    grounds_of,
    steps_of,
)

BATCH = 500
Identity = tuple[int, str, int, int]


@dataclass(slots=True)
class Changes:
    """What one refresh does to the tasks of a batch; ``other_day``: moved in its best day."""

    new: list[Task] = field(default_factory=list)
    moved: list[Task] = field(default_factory=list)
    other_day: list[Task] = field(default_factory=list)
    opened_again: list[Task] = field(default_factory=list)
    withdrawn: list[Task] = field(default_factory=list)


def plan_all(*, now: datetime) -> int:
    """Plan every living record that changed or was not planned on its site's day yet.

    Returns how many were planned.
    """
    planned = 0
    for site in Site.objects.order_by("pk"):
        planned += refresh_site(site, now=now, only_due=True)
    return planned


def refresh_site(site: Site, *, now: datetime, only_due: bool = False) -> int:
    """Plan the living records of one site; returns how many."""
    today = site.local_day(now)
    climate = climate_of(site)
    due = Q(planned_on__isnull=True) | Q(planned_on__lt=today)
    ended_unplanned = Q(phase=Phase.ENDED, planned_on__isnull=True)
    planned = 0
    for table in (Sowing, Plant):
        rows = table.objects.filter(site=site)
        rows = rows.filter((due & ~Q(phase=Phase.ENDED)) | ended_unplanned) if only_due else rows
        ids = list(rows.order_by("pk").values_list("pk", flat=True))
        for start in range(0, len(ids), BATCH):
            batch = list(
                table.objects.filter(pk__in=ids[start : start + BATCH]).select_related("variety")
            )
            _refresh_batch(batch, climate, today, now)
            planned += len(batch)
    return planned


def refresh(records: Iterable[Projection], *, now: datetime) -> None:
    """Plan these records anew, after something was written about them."""
    by_site: dict[tuple[int, type[Projection]], list[Projection]] = {}
    for record in records:
        fresh = type(record)._default_manager.select_related("variety", "site").get(pk=record.pk)
        by_site.setdefault((fresh.site_id, type(record)), []).append(fresh)
    for group in by_site.values():
        site = group[0].site
        _refresh_batch(group, climate_of(site), site.local_day(now), now)


def _refresh_batch(
    records: Sequence[Projection], climate: ClimateInUse, today: date, now: datetime
) -> None:
    if not records:
        return
    subject = ledger.subject_of(records[0])
    facts = ledger.facts_by_record(subject, [record.pk for record in records])
    grounds = grounds_of(records)
    seeds = seed_facts(_to_be_sown(records), today)
    until = today + timedelta(LOOK_AHEAD_DAYS)
    wanted: dict[Identity, tuple[Projection, Step]] = {}
    ended: dict[int, date] = {}
    for record in records:
        life = fold(subject, facts.get(record.pk, []))
        assert life is not None
        if life.ended_on is not None:
            ended[record.pk] = life.ended_on
        ground = grounds[record.place_id] if record.place_id else Ground()
        seed = seeds.get(record.pk, UNKNOWN_SEED)
        for step in steps_of(record, life, climate, today, ground, until, seed):
            if not step.waits_for:
                wanted[(record.pk, *step.identity)] = (record, step)
    with transaction.atomic():
        unchanged = _mark_planned(records, today)
        tasks = {
            _identity(task, subject): task
            for task in Task.objects.filter(**{f"{subject}__in": unchanged})
        }
        current = {key: step for key, step in wanted.items() if key[0] in unchanged}
        _write(_compare(current, tasks, ended, today, now), now)


def _to_be_sown(records: Sequence[Projection]) -> list[Sowing]:
    return [
        record for record in records if isinstance(record, Sowing) and record.phase == Phase.PLANNED
    ]


def _mark_planned(records: Sequence[Projection], today: date) -> set[int]:
    """Note the day of planning; return the records that are still as they were read.

    This comes first, because it locks the rows: whoever writes an entry takes the record
    before its tasks too. A record with an entry come in since is left to the next tick.
    """
    by_version: dict[int, list[int]] = {}
    for record in records:
        by_version.setdefault(record.version, []).append(record.pk)
    rows = type(records[0])._default_manager
    unchanged: set[int] = set()
    for version, ids in by_version.items():
        same = rows.filter(pk__in=ids, version=version)
        whole = same.update(planned_on=today) == len(ids)
        unchanged.update(ids if whole else same.values_list("pk", flat=True))
    return unchanged


def _identity(task: Task, subject: str) -> Identity:
    owner = task.sowing_id if subject == "sowing" else task.plant_id
    assert owner is not None
    return (owner, task.kind, task.growing_year, task.number)


def _compare(
    wanted: dict[Identity, tuple[Projection, Step]],
    tasks: dict[Identity, Task],
    ended: dict[int, date],
    today: date,
    now: datetime,
) -> Changes:
    changes = Changes()
    for identity, (record, step) in wanted.items():
        task = tasks.get(identity)
        if task is None:
            changes.new.append(_new_task(record, step, now))
        elif task.state == Task.State.WITHDRAWN:
            task.state, task.closed_at, task.closed_why = Task.State.OPEN, None, ""
            _set_window(task, record, step)
            changes.opened_again.append(task)
        elif task.state == Task.State.OPEN and _differs(task, record, step):
            if task.best != step.window.best:
                task.moved_from, task.moved_on = task.best, today
                changes.other_day.append(task)
            _set_window(task, record, step)
            changes.moved.append(task)
    for identity, task in tasks.items():
        if task.state == Task.State.OPEN and identity not in wanted:
            task.state, task.closed_at = Task.State.WITHDRAWN, now
            task.closed_why = _why_withdrawn(task, ended.get(identity[0]), today)
            changes.withdrawn.append(task)
    return changes


_WINDOW = ["site", "earliest", "best", "latest", "counts_from", "reason", "source"]


def _write(changes: Changes, now: datetime) -> None:
    # Another worker may have planned the same record: its row is the same, so ours may be dropped.
    Task.objects.bulk_create(changes.new, ignore_conflicts=True, batch_size=BATCH)
    # Whoever closes a task meanwhile is not overruled: its state is left alone.
    Task.objects.bulk_update(changes.moved, [*_WINDOW, "moved_from", "moved_on"], batch_size=BATCH)
    Task.objects.bulk_update(
        changes.opened_again, [*_WINDOW, "state", "closed_at", "closed_why"], batch_size=BATCH
    )
    _withdraw(changes.withdrawn, now)
    note_moved(changes.other_day, now=now)
    if changes.opened_again:
        note(changes.opened_again, TaskEvent.Act.REOPENED, now=now)
        put_right(changes.opened_again, now=now)


def _withdraw(tasks: Sequence[Task], now: datetime) -> None:
    """Withdraw those that nobody has closed since they were read."""
    if not tasks:
        return
    locked = Task.objects.select_for_update().filter(
        pk__in=[task.pk for task in tasks], state=Task.State.OPEN
    )
    still_open = set(locked.order_by("pk").values_list("pk", flat=True))
    gone = [task for task in tasks if task.pk in still_open]
    by_reason: dict[str, list[int]] = {}
    for task in gone:
        by_reason.setdefault(task.closed_why, []).append(task.pk)
    for why, ids in by_reason.items():
        Task.objects.filter(pk__in=ids).update(
            state=Task.State.WITHDRAWN, closed_at=now, closed_why=why
        )
    note_withdrawn(gone, now=now)
    let_lapse(still_open, now=now)


def _new_task(record: Projection, step: Step, now: datetime) -> Task:
    task = Task(
        garden_id=record.garden_id,
        kind=step.kind,
        growing_year=step.growing_year,
        number=step.number,
        made_at=now,
        plant=record if isinstance(record, Plant) else None,
        sowing=record if isinstance(record, Sowing) else None,
    )
    _set_window(task, record, step)
    return task


def _set_window(task: Task, record: Projection, step: Step) -> None:
    task.site_id = record.site_id
    task.earliest = step.window.earliest
    task.best = step.window.best
    task.latest = step.window.latest
    task.counts_from = step.counts_from
    task.reason = step.reason
    task.source = step.source


def _differs(task: Task, record: Projection, step: Step) -> bool:
    return (task.site_id, task.earliest, task.best, task.latest, task.counts_from, task.reason) != (
        record.site_id,
        step.window.earliest,
        step.window.best,
        step.window.latest,
        step.counts_from,
        step.reason,
    )


def _why_withdrawn(task: Task, ended_on: date | None, today: date) -> str:
    if ended_on is not None:
        return f"The record ended on {ended_on:%-d %B %Y}."
    if task.latest < today:
        return f"Its window closed on {task.latest:%-d %B %Y} and the plan has moved on."
    return "The plan changed and no longer has this step."
