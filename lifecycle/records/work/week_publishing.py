"""Publishing the week's work: drafts become whose the tasks are, all at once."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db import transaction

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.models import (
    Away,
    Membership,
    Person,
    Publication,
    PublishedTask,
    Task,
    TaskEvent,
    WorkDraft,
)
from lifecycle.permissions import require
from lifecycle.records.people.memberships import hold_garden
from lifecycle.records.work.cover_chain import HANDS
from lifecycle.records.work.minding import minder_of
from lifecycle.records.work.open_offers import let_lapse
from lifecycle.records.work.task_history import note
from lifecycle.records.work.task_rows import lock_tasks
from lifecycle.records.work.task_standing import closed_words
from lifecycle.records.work.week_work import WEEK, days_of_week, holder_of, members_who_work

BATCH = 500

Act = TaskEvent.Act


@dataclass(slots=True)
class Published:
    """What a publishing did: by person what they were given, and what went from them.

    ``publication`` is None where nothing was new. ``left_out`` says in a sentence each which
    drafts were not taken over, and why.
    """

    publication: Publication | None = None
    given: dict[int, list[Task]] = field(default_factory=dict)
    gone: dict[int, list[Task]] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)

    @property
    def people(self) -> list[int]:
        """Everybody whom it is news to."""
        return sorted({*self.given, *self.gone})


@dataclass(frozen=True, slots=True)
class Move:
    """A task on its way.

    ``had`` had it by name and ``to`` gets it by name; ``was`` minded it, ``then`` minds it after.
    """

    task: Task
    had: Person | None
    to: Person | None
    was: int | None
    then: int | None


def publish(actor: Membership, *, now: datetime) -> Published:
    """Give the drafted tasks to the people they are meant for, once.

    Of two who publish at the same moment the second finds nothing new. A draft whose task was
    closed or taken meanwhile, or whose person left or went away for all its days, is left out and
    named. Telling people is for the caller, in the same transaction.
    """
    require(actor, "week.publish")
    made = Published()
    with transaction.atomic():
        hold_garden(actor.garden_id)
        drafts = list(
            WorkDraft.objects.filter(garden_id=actor.garden_id)
            .select_related("to")
            .order_by("task__latest", "task")
        )
        tasks = lock_tasks(actor.garden_id, [each.task_id for each in drafts])
        workers = {member.person_id for member in members_who_work(actor.garden_id)}
        changed = _changed_hands_since(drafts)
        away = _away(actor.garden_id, now)
        moves = []
        for each in drafts:
            task = tasks[each.task_id]
            why = _why_not(each, task, workers, changed, now) or _is_away(each, task, away, now)
            if why:
                made.left_out.append(why)
                continue
            move = _move(task, each.to, workers)
            if move.was != move.then:
                moves.append(move)
        WorkDraft.objects.filter(pk__in=[each.pk for each in drafts]).delete()
        if moves:
            _hand_out(actor, moves, now)
            made.publication = _write_down(actor, moves, now)
            _sort_by_person(made, moves)
    return made


def _changed_hands_since(drafts: Iterable[WorkDraft]) -> set[int]:
    """Return the tasks that changed hands after their draft was made."""
    made = {each.task_id: each.at for each in drafts}
    events = TaskEvent.objects.filter(task__in=made, act__in=HANDS).values_list("task", "at")
    return {task for task, at in events if at > made[task]}


def _why_not(
    each: WorkDraft,
    task: Task,
    workers: Collection[int],
    changed: Collection[int],
    now: datetime,
) -> str:
    """Return why a draft cannot be taken over, or ""."""
    if task.state != Task.State.OPEN:
        return f"{_name(task)}. {closed_words(task, now)}"
    if each.to_id is not None and each.to_id not in workers:
        return f"{_name(task)}. {each.to} does not work in this garden any more."
    if task.pk in changed and task.assignee_id not in (None, each.to_id):
        return f"{_name(task)}. {task.assignee} has it since, and keeps it."
    return ""


def _away(garden_id: int, now: datetime) -> dict[int, list[Away]]:
    """Return by person the days from today on that they are away."""
    found: dict[int, list[Away]] = {}
    # A site may be a day behind UTC.
    ahead = Away.objects.filter(garden=garden_id, last_day__gte=now.date() - timedelta(1))
    for each in ahead.order_by("first_day", "pk"):
        found.setdefault(each.person_id, []).append(each)
    return found


def _days_left(task: Task, now: datetime) -> tuple[date, date]:
    """Return the first and the last day on which a task may be done; what is late, all week."""
    today = task.site.local_day(now)
    if task.latest < today:
        return today, today + WEEK - timedelta(1)
    return max(task.earliest, today), task.latest


def _is_away(
    each: WorkDraft, task: Task, away: Mapping[int, Collection[Away]], now: datetime
) -> str:
    """Return that the person of a draft is away by now on all days of its task, or "".

    Whoever was away before it was drafted stays meant for it: that stood beside the draft.
    """
    own = away.get(each.to_id, ()) if each.to_id is not None else ()
    if not any(absence.made_at > each.at for absence in own):
        return ""
    day, last = _days_left(task, now)
    for absence in own:
        if absence.first_day <= day <= absence.last_day:
            day = absence.last_day + timedelta(1)
    return f"{_name(task)}. {each.to} is away on all its days." if day > last else ""


def _name(task: Task) -> str:
    if task.chore is not None:
        return task.chore.title
    return f"{STEP_RULES[task.kind].label}: {task.plant or task.sowing}"


def _move(task: Task, to: Person | None, workers: Collection[int]) -> Move:
    minder = minder_of(task)
    return Move(
        task=task,
        had=task.assignee,
        to=to,
        was=minder if minder in workers else None,
        then=to.pk if to is not None else holder_of(task, workers),
    )


def _hand_out(actor: Membership, moves: list[Move], now: datetime) -> None:
    """Set whose the locked tasks are, with their history, in a few queries for all of them."""
    alike: dict[tuple[str, int | None], list[Move]] = {}
    for move in moves:
        move.task.assignee = move.to
        about = move.to or move.had
        act = Act.GIVEN if move.to is not None else Act.GIVEN_BACK
        alike.setdefault((act.value, about.pk if about else None), []).append(move)
    Task.objects.bulk_update([move.task for move in moves], ["assignee"], batch_size=BATCH)
    let_lapse([move.task.pk for move in moves], now=now)
    for (how, _), some in alike.items():
        about = some[0].to or some[0].had
        note([move.task for move in some], how, now=now, by=actor.person, to=about)


def _write_down(actor: Membership, moves: list[Move], now: datetime) -> Publication:
    first_day, last_day = days_of_week(actor.garden, now)
    publication = Publication.objects.create(
        garden_id=actor.garden_id,
        by=actor.person,
        at=now,
        first_day=first_day,
        last_day=last_day,
    )
    PublishedTask.objects.bulk_create(
        [
            PublishedTask(publication=publication, task=move.task, to_id=move.then, was_id=move.was)
            for move in moves
        ],
        batch_size=BATCH,
    )
    return publication


def _sort_by_person(made: Published, moves: list[Move]) -> None:
    for move in moves:
        if move.then is not None:
            made.given.setdefault(move.then, []).append(move.task)
        if move.was is not None:
            made.gone.setdefault(move.was, []).append(move.task)
