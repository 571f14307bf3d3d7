"""A published week as a rota: by person, what to do, where, and by when."""

from dataclasses import dataclass

from lifecycle.care.wording import short_date
from lifecycle.models import Publication, PublishedTask, Task
from lifecycle.records.work.minding import RELATED
from lifecycle.reminders.work.task_words import (
    Group,
    by_words,
    grouped,
    time_words,
    what,
    where_of,
)
from lifecycle.web.ground.place_names import place_words


@dataclass(frozen=True, slots=True)
class RotaLine:
    """One piece of work on a rota; ``done`` says so where all of it is closed."""

    what: str
    where: str
    days: str
    done: bool


@dataclass(frozen=True, slots=True)
class RotaPerson:
    """What one person was given."""

    name: str
    lines: list[RotaLine]


def rota_of(publication: Publication) -> list[RotaPerson]:
    """Return whom a publication, and those before it for the same days, gave what.

    Of a task that was published twice the later word counts. Two queries.
    """
    published = (
        PublishedTask.objects.filter(
            publication__garden=publication.garden_id,
            publication__pk__lte=publication.pk,
            publication__last_day__gte=publication.first_day,
        )
        .select_related("to", *(f"task__{name}" for name in RELATED))
        .order_by("publication", "pk")
    )
    latest = {row.task_id: row for row in published}
    by_person: dict[int, list[PublishedTask]] = {}
    for row in latest.values():
        if row.to_id is not None:
            by_person.setdefault(row.to_id, []).append(row)
    places = place_words(where_of(row.task) for row in latest.values())
    people = [
        RotaPerson(
            str(theirs[0].to),
            [_line(group, publication, places) for group in grouped(row.task for row in theirs)],
        )
        for theirs in by_person.values()
    ]
    return sorted(people, key=lambda person: person.name)


def _line(group: Group, publication: Publication, places: dict[int, str]) -> RotaLine:
    place, at = where_of(group[0]), time_words(group[0])
    first = max(min(task.earliest for task in group), publication.first_day)
    last = min(task.latest for task in group)
    around = publication.first_day
    days = by_words(group, around)
    if last > first and len({task.latest for task in group}) == 1:
        days = f"{short_date(first, around)} to {short_date(last, around)}"
    return RotaLine(
        what=what(group),
        where=places[place.pk] if place else str(group[0].site),
        days=f"{days}, {at}" if at else days,
        done=all(task.state != Task.State.OPEN for task in group),
    )
