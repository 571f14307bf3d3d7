"""The work of the seven days from today: what one person does at once, and who could.

Tasks of one kind in one place are one piece of work; each day of a chore is one by itself.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import ceil

from django.db.models import F, Max, Q, QuerySet

from lifecycle.care.effort import ROUNDED_TO, minutes_for
from lifecycle.care.skills import skill_for
from lifecycle.models import Garden, Membership, Site, Task, WorkDraft
from lifecycle.records.work.away import away_on
from lifecycle.records.work.minding import (
    MINDER,
    RELATED,
    WHERE,
    WORKING_ROLES,
    minder_of,
    where_of,
)

WEEK = timedelta(days=7)
LAST_YEARS = timedelta(days=460)
"""How far back whoever did a piece of work before is looked for."""


@dataclass(frozen=True, slots=True)
class Worker:
    """A member who may do tasks, the days of the week they are away, and their limit."""

    member: Membership
    away: frozenset[date]

    @property
    def pk(self) -> int:
        """The person's number."""
        return self.member.person_id

    def has_skill(self, skill: str) -> bool:
        """Return whether they said that they can do this; "" asks for nothing."""
        return not skill or skill in self.member.skills


@dataclass(frozen=True, slots=True)
class Piece:
    """What one person does at once.

    ``minder`` is who has it today, ``holder`` who holds what it is about and so minds it while
    nobody else does, ``draft`` what a coordinator means to do with it, ``before`` who did the
    same last; None each where there is none. ``days`` are those of the week on which it can be
    done.
    """

    key: str
    tasks: tuple[Task, ...]
    minutes: int
    skill: str
    days: frozenset[date]
    minder: int | None
    holder: int | None
    draft: WorkDraft | None
    before: int | None

    @property
    def meant_for(self) -> int | None:
        """Who has it once the draft is published."""
        if self.draft is None:
            return self.minder
        return self.draft.to_id if self.draft.to_id is not None else self.holder

    def possible_for(self, worker: Worker) -> bool:
        """Return whether a person has a day of the week for it, and the skill.

        Whoever has it, or holds what it is about, needs to name no skill.
        """
        able = worker.has_skill(self.skill) or worker.pk in (self.minder, self.holder)
        return able and bool(self.days - worker.away)


@dataclass(frozen=True, slots=True)
class Week:
    """The work of a garden from ``first_day`` on, by local days of its first site."""

    first_day: date
    last_day: date
    workers: dict[int, Worker]
    pieces: tuple[Piece, ...]

    def chosen(self, keys: Collection[str]) -> list[Piece]:
        """Return the pieces with these keys; the key of what has changed since finds nothing."""
        wanted = set(keys)
        return [piece for piece in self.pieces if piece.key in wanted]


def week_of(garden: Garden, *, now: datetime) -> Week:
    """Return the open work whose window touches the next seven days, or ended before them.

    Six queries, however much there is.
    """
    sites = list(Site.objects.filter(garden=garden).order_by("pk"))
    today = {site.pk: site.local_day(now) for site in sites}
    first_day = today[sites[0].pk] if sites else now.astimezone(UTC).date()
    last_day = first_day + WEEK - timedelta(1)
    workers = _workers(garden, min(today.values(), default=first_day), last_day + timedelta(1))
    tasks = _tasks(garden, today)
    before = _done_before(garden, now) if tasks else {}
    parts: defaultdict[str, list[Task]] = defaultdict(list)
    for task in tasks:
        parts[_key(task, workers)].append(task)
    pieces = tuple(
        _piece(key, part, today[part[0].site_id], workers, before) for key, part in parts.items()
    )
    return Week(first_day, last_day, workers, pieces)


def days_of_week(garden: Garden, now: datetime) -> tuple[date, date]:
    """Return the first and the last of the seven days, local days of the garden's first site."""
    site = garden.sites.order_by("pk").first()
    first_day = site.local_day(now) if site is not None else now.astimezone(UTC).date()
    return first_day, first_day + WEEK - timedelta(1)


def members_who_work(garden_id: int) -> QuerySet[Membership]:
    """Return the members who may do tasks, by name."""
    return (
        Membership.objects.filter(
            garden=garden_id, left_on__isnull=True, person__is_active=True, role__in=WORKING_ROLES
        )
        .select_related("person")
        .order_by("person__name", "pk")
    )


def holder_of(task: Task, workers: Collection[int]) -> int | None:
    """Return who of ``workers`` holds what a task is about, whoever has the task."""
    held = task.plant or task.sowing or (task.chore.plant if task.chore else None)
    return held.holder_id if held and held.holder_id in workers else None


def minutes_of(tasks: Collection[Task]) -> int:
    """Return the minutes that tasks of one kind in one place take one person."""
    first = next(iter(tasks))
    if first.chore is not None:
        whole = sum(task.chore.minutes for task in tasks if task.chore)
        return ceil(whole / ROUNDED_TO) * ROUNDED_TO
    plants = sum(task.plant.count if task.plant else 1 for task in tasks)
    return minutes_for(first.kind, plants)


def loads(pairs: Iterable[tuple[Piece, int | None]]) -> dict[int, int]:
    """Return the minutes of each person when they do these pieces; work together counts once."""
    together: defaultdict[tuple[int, str], list[Task]] = defaultdict(list)
    for piece, person in pairs:
        if person is not None:
            together[person, _what(piece.tasks[0])].extend(piece.tasks)
    found: defaultdict[int, int] = defaultdict(int)
    for (person, _), tasks in together.items():
        found[person] += minutes_of(tasks)
    return dict(found)


def _workers(garden: Garden, first: date, last: date) -> dict[int, Worker]:
    away = away_on(garden.pk, first, last)
    return {
        member.person_id: Worker(member, frozenset(_days(away.get(member.person_id, ()))))
        for member in members_who_work(garden.pk)
    }


def _days(stretches: Iterable[tuple[date, date]]) -> Iterator[date]:
    for first, last in stretches:
        for number in range((last - first).days + 1):
            yield first + timedelta(number)


def _tasks(garden: Garden, today: dict[int, date]) -> list[Task]:
    if not today:
        return []
    # What is drafted is there until it is published, even where its window moved away.
    touching = Q(draft__isnull=False)
    for site, day in today.items():
        touching |= Q(site=site, earliest__lt=day + WEEK)
    return list(
        Task.objects.filter(touching, garden=garden, state=Task.State.OPEN)
        .annotate(minder=MINDER)
        .select_related(*RELATED, "draft__to")
        .order_by("latest", "best", "kind", "pk")
    )


def _done_before(garden: Garden, now: datetime) -> dict[str, int]:
    """Return who did each kind of work in each place last, by ``_what``."""
    rows = (
        Task.objects.filter(
            garden=garden,
            state=Task.State.DONE,
            closed_by__isnull=False,
            closed_at__gte=now - LAST_YEARS,
        )
        .values("kind", "chore", "closed_by", where=WHERE)
        .annotate(last=Max("closed_at"))
        .order_by(F("last").asc(), "closed_by")
    )
    return {_what_words(row["kind"], row["chore"], row["where"]): row["closed_by"] for row in rows}


def _what(task: Task) -> str:
    """Return what tells one kind of work in one place from others; days of a chore apart."""
    if task.chore_id is not None:
        return f"{_kind_of_work(task)}-{task.pk}"
    return _kind_of_work(task)


def _kind_of_work(task: Task) -> str:
    place = where_of(task)
    return _what_words(task.kind, task.chore_id, place.pk if place else None)


def _what_words(kind: str, chore: int | None, place: int | None) -> str:
    return f"{kind}-{chore or 0}-{place or 0}"


def draft_of(task: Task) -> WorkDraft | None:
    """Return the draft of a task, or None."""
    return getattr(task, "draft", None)


def _minder(task: Task, workers: dict[int, Worker]) -> int | None:
    """Return who minds a task, if they still belong to the garden and may do it."""
    minder = minder_of(task)
    return minder if minder in workers else None


def _key(task: Task, workers: dict[int, Worker]) -> str:
    """Return the key of the piece a task is part of; it changes when anybody's part in it does."""
    draft = draft_of(task)
    meant = "" if draft is None else f"-{draft.to_id or 0}{'p' if draft.proposed else 'h'}"
    holder = holder_of(task, workers) or 0
    return f"{_what(task)}-{_minder(task, workers) or 0}-{holder}{meant}"


def _piece(
    key: str, tasks: list[Task], today: date, workers: dict[int, Worker], before: dict[str, int]
) -> Piece:
    first = tasks[0]
    skill = first.chore.skill if first.chore is not None else skill_for(first.kind)
    doer = before.get(_kind_of_work(first))
    return Piece(
        key=key,
        tasks=tuple(tasks),
        minutes=minutes_of(tasks),
        skill=skill,
        days=frozenset(_open_days(tasks, today)),
        minder=_minder(first, workers),
        holder=holder_of(first, workers),
        draft=draft_of(first),
        before=doer if doer in workers else None,
    )


def _open_days(tasks: list[Task], today: date) -> Iterator[date]:
    """Return the days of the week on which all of it can be done; what is late, on any.

    Where windows share no day, each day of any of them counts.
    """
    last_day = today + WEEK - timedelta(1)
    first = max(max(task.earliest for task in tasks), today)
    last = min(min(task.latest for task in tasks), last_day)
    if last < today:
        last = last_day
    if first > last:
        first = max(min(task.earliest for task in tasks), today)
        last = min(max(task.latest for task in tasks), last_day)
    yield from _days([(first, max(first, last))])
