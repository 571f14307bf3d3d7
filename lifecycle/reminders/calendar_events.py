"""What a person's calendar shows: their planned work in groups, and their turns on call."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from urllib.parse import urlencode

from django.conf import settings
from django.db.models import Q
from django.db.models.functions import Coalesce

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.wording import in_units, short_date
from lifecycle.handbook import CAUTIONS
from lifecycle.models import CalendarItem, OnCallTurn, Person, Plant, Sowing, Task
from lifecycle.records.calendar import KEPT_DAYS, Event

NAMES_SHOWN = 20
REASONS_SHOWN = 3
GroupKey = tuple[int, int, str, int | None, date]


def planned(person: Person, known: Iterable[CalendarItem], *, now: datetime) -> list[Event]:
    """Return the events of a person's calendar; ``known`` is what it showed before.

    Tasks of one kind in one place with one best day are one event. Work that was shown and
    got done stays as done, whoever did it and whoever holds the plant now.
    """
    groups: dict[GroupKey, list[Task]] = {}
    for task in _tasks(person, known, now):
        key = (task.garden_id, task.site_id, task.kind, _record(task).place_id, task.best)
        groups.setdefault(key, []).append(task)
    work = [_work(person, tasks) for tasks in groups.values()]
    return [*work, *(_turn(turn) for turn in _turns(person, now))]


def _tasks(person: Person, known: Iterable[CalendarItem], now: datetime) -> Iterable[Task]:
    shown = [
        int(part.removeprefix("task:"))
        for item in known
        if item.gone_at is None
        for part in item.parts
        if part.startswith("task:")
    ]
    since = now - timedelta(KEPT_DAYS)
    mine = Q(minder=person.pk)
    lately = Q(best__gte=since.date()) | Q(closed_at__gte=since)
    return (
        Task.objects.visible_to(person)
        .annotate(minder=Coalesce("assignee_id", "plant__holder_id", "sowing__holder_id"))
        .filter(
            Q(mine, state=Task.State.OPEN)
            | Q(mine | Q(pk__in=shown), lately, state=Task.State.DONE)
        )
        .select_related("garden", "site", "plant__place", "sowing__place", "sowing__variety")
        .order_by("best", "kind", "pk")
    )


def _turns(person: Person, now: datetime) -> Iterable[OnCallTurn]:
    since = (now - timedelta(KEPT_DAYS)).date()
    return (
        OnCallTurn.objects.visible_to(person)
        .filter(person=person, last_day__gte=since)
        .select_related("garden", "site")
        .order_by("first_day", "pk")
    )


def _work(person: Person, tasks: Sequence[Task]) -> Event:
    first = tasks[0]
    best = first.best
    left = [task for task in tasks if task.state == Task.State.OPEN]
    place = _record(first).place
    where = f", {place}" if place is not None and left else ""
    summary = f"{STEP_RULES[first.kind].label}: {_what(tasks)}{where}"
    if not left:
        summary = f"Done: {summary}"
    elif len(left) < len(tasks):
        summary = f"{summary} ({len(tasks) - len(left)} of {len(tasks)} done)"
    url = _url(tasks, left)
    return Event(
        garden_id=first.garden_id,
        parts=tuple(f"task:{task.pk}" for task in tasks),
        starts=best.isoformat(),
        ends=(best + timedelta(1)).isoformat(),
        summary=summary,
        description="\n".join([*_lines(person, tasks, left), url]),
        location=f"{place}, {first.site}" if place is not None and left else str(first.site),
        categories=(str(first.garden), "Garden work"),
        url=url,
    )


def _lines(person: Person, tasks: Sequence[Task], left: Sequence[Task]) -> list[str]:
    first, best = tasks[0], tasks[0].best
    opens, closes = min(task.earliest for task in tasks), max(task.latest for task in tasks)
    lines = [
        f"Between {short_date(opens, best)} and {short_date(closes, best)}, "
        f"best {short_date(best)}."
    ]
    reasons = [
        in_units(task.reason, person.temperature, person.length, best) for task in left or tasks
    ]
    lines += list(dict.fromkeys(reasons))[:REASONS_SHOWN]
    if len(tasks) > 1:
        names = [_name(_record(task)) for task in left or tasks]
        more = len(names) - NAMES_SHOWN
        tail = f", and {more} more" if more > 0 else ""
        lines.append(f"{'To do' if left else 'Done'}: {', '.join(names[:NAMES_SHOWN])}{tail}.")
    if left:
        lines += [CAUTIONS[key] for key in STEP_RULES[first.kind].cautions]
    if first.garden.invented:
        lines.append("This is an invented demonstration garden.")
    return lines


def _what(tasks: Sequence[Task]) -> str:
    if len(tasks) == 1:
        return str(_record(tasks[0]))
    sown = sum(task.sowing_id is not None for task in tasks)
    noun = {0: "plants", len(tasks): "sowings"}.get(sown, "plants and sowings")
    return f"{len(tasks)} {noun}"


def _name(record: Plant | Sowing) -> str:
    return str(record) if isinstance(record, Sowing) else f"{record} ({record.code})"


def _url(tasks: Sequence[Task], left: Sequence[Task]) -> str:
    """Return the page of the one task there is to do, or of all of its kind and place."""
    first = (left or tasks)[0]
    base = f"{settings.SITE_URL}/g/{first.garden.slug}/tasks"
    if len(left or tasks) == 1:
        return f"{base}/{first.pk}"
    place = _record(first).place_id
    mine = {"kind": first.kind, **({"place": place} if place else {}), "whose": 1}
    return f"{base}?{urlencode(mine)}" if left else base


def _turn(turn: OnCallTurn) -> Event:
    """Return a turn as the hours it lasts: from noon of its first day, for every night of it."""
    url = f"{settings.SITE_URL}/g/{turn.garden.slug}/rota"
    return Event(
        garden_id=turn.garden_id,
        parts=(f"turn:{turn.pk}",),
        starts=f"{turn.first_day.isoformat()}T12:00:00",
        ends=f"{(turn.last_day + timedelta(1)).isoformat()}T12:00:00",
        zone=turn.site.time_zone,
        summary=f"On call for frost nights, {turn.site}",
        description=(
            "When plants must be covered or brought in, you are asked. Which night it is comes "
            f"as a message, never through this calendar.\n{url}"
        ),
        location=str(turn.site),
        categories=(str(turn.garden), "On call"),
        url=url,
    )


def _record(task: Task) -> Plant | Sowing:
    record = task.plant or task.sowing
    assert record is not None
    return record
