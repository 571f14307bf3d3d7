"""What a person's calendar shows: their planned work in groups, and their turns on call."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from urllib.parse import urlencode

from django.conf import settings
from django.db.models import Q

from lifecycle.care.wording import in_units, short_date
from lifecycle.models import CalendarItem, OnCallTurn, Person, Plant, Task
from lifecycle.records.messages.calendar import KEPT_DAYS, Event
from lifecycle.records.work.minding import MINDER, RELATED, record_of, where_of
from lifecycle.reminders.work.task_words import cautions_of, label_of, subject_of

NAMES_SHOWN = 20
REASONS_SHOWN = 3
GroupKey = tuple[int, int, str, int | None, int | None, date]


def planned(person: Person, known: Iterable[CalendarItem], *, now: datetime) -> list[Event]:
    """Return the events of a person's calendar; ``known`` is what it showed before.

    Tasks of one kind in one place with one best day are one event. Work that was shown and
    got done stays as done, whoever did it and whoever holds the plant now.
    """
    groups: dict[GroupKey, list[Task]] = {}
    for task in _tasks(person, known, now):
        place = where_of(task)
        where = place.pk if place else None
        key = (task.garden_id, task.site_id, task.kind, task.chore_id, where, task.best)
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
        .annotate(minder=MINDER)
        .filter(
            Q(mine, state=Task.State.OPEN)
            | Q(mine | Q(pk__in=shown), lately, state=Task.State.DONE)
        )
        .select_related("garden", *RELATED)
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
    left = [task for task in tasks if task.state == Task.State.OPEN]
    place = where_of(first)
    where = f", {place}" if place is not None and left else ""
    subject = _what(tasks)
    summary = f"{label_of(first)}{f': {subject}' if subject else ''}{where}"
    if not left:
        summary = f"Done: {summary}"
    elif len(left) < len(tasks):
        summary = f"{summary} ({len(tasks) - len(left)} of {len(tasks)} done)"
    url = _url(tasks, left)
    return Event(
        garden_id=first.garden_id,
        parts=tuple(f"task:{task.pk}" for task in tasks),
        **_when(first),
        summary=summary,
        description="\n".join([*_lines(person, tasks, left), url]),
        location=f"{place}, {first.site}" if place is not None and left else str(first.site),
        categories=(str(first.garden), "Garden work"),
        url=url,
    )


def _when(task: Task) -> dict[str, str]:
    """Return the whole best day; of a chore with a time of day, that time on the site's clock."""
    chore = task.chore
    if chore is None or chore.at_time is None:
        return {"starts": task.best.isoformat(), "ends": (task.best + timedelta(1)).isoformat()}
    starts = datetime.combine(task.best, chore.at_time)
    ends = starts + timedelta(minutes=chore.minutes)
    return {"starts": starts.isoformat(), "ends": ends.isoformat(), "zone": task.site.time_zone}


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
    if len(tasks) > 1 and first.chore_id is None:
        names = [_name(task) for task in left or tasks]
        more = len(names) - NAMES_SHOWN
        tail = f", and {more} more" if more > 0 else ""
        lines.append(f"{'To do' if left else 'Done'}: {', '.join(names[:NAMES_SHOWN])}{tail}.")
    if first.chore is not None and first.chore.how:
        lines.append(first.chore.how)
    if left:
        lines += cautions_of(first)
    if first.garden.invented:
        lines.append("This is an invented demonstration garden.")
    return lines


def _what(tasks: Sequence[Task]) -> str:
    if len(tasks) == 1 or tasks[0].chore_id is not None:
        return subject_of(tasks[0])
    sown = sum(task.sowing_id is not None for task in tasks)
    noun = {0: "plants", len(tasks): "sowings"}.get(sown, "plants and sowings")
    return f"{len(tasks)} {noun}"


def _name(task: Task) -> str:
    record = record_of(task)
    return f"{record} ({record.code})" if isinstance(record, Plant) else subject_of(task)


def _url(tasks: Sequence[Task], left: Sequence[Task]) -> str:
    """Return the page of the one task there is to do, or of all of its kind and place."""
    first = (left or tasks)[0]
    base = f"{settings.SITE_URL}/g/{first.garden.slug}/tasks"
    if len(left or tasks) == 1:
        return f"{base}/{first.pk}"
    place = where_of(first)
    mine = {
        "kind": first.kind,
        **({"chore": first.chore_id} if first.chore_id else {}),
        **({"place": place.pk} if place else {}),
        "whose": 1,
    }
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
