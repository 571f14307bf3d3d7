"""What somebody did and has in their gardens, row by row, for their download."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import Q

from lifecycle.life.phases import Phase
from lifecycle.models import BedHolding, Entry, Person, Plant, Sowing, Task, TaskEvent
from lifecycle.records.people.name_words import ANOTHER, Scrubber

MOST_ROWS = 20_000
"""Rows of one table that a download holds at most; the newest go first."""

Row = dict[str, Any]


def who(pk: int | None, person: Person) -> str:
    """Return "you", "another member", or "" for nobody."""
    if pk is None:
        return ""
    return "you" if pk == person.pk else ANOTHER


def newest(rows: Any) -> Iterable[Any]:
    """Return the first MOST_ROWS of a query."""
    return list(rows[:MOST_ROWS])


def plainly(thing: object, scrubber: Scrubber) -> str:
    """Return the name of a thing without others' names in it; "" for nothing."""
    return "" if thing is None else scrubber.out_of(str(thing), own_words=False)


def entries(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the entries somebody wrote."""
    found = Entry.objects.filter(by=person).select_related(
        *("garden", "plant", "sowing__variety", "place", "strike")
    )
    for each in newest(found.order_by("-happened_on", "-pk")):
        yield {
            "garden": each.garden.name,
            "about": plainly(each.plant or each.sowing, scrubber),
            "kind": each.kind,
            "happened_on": each.happened_on,
            "written_at": each.received_at,
            "quantity": each.quantity,
            "choice": each.choice,
            "place": plainly(each.place, scrubber),
            "material": each.material,
            "note": scrubber.out_of(each.note, own_words=False),
            "passed_to": who(each.holder_id, person),
            "struck": getattr(each, "strike", None) is not None,
        }


def held(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the plants and sowings somebody holds or held."""
    for table in (Plant, Sowing):
        found = table.objects.filter(Q(holder=person) | Q(entries__holder=person)).distinct()
        rows = found.select_related("garden", "variety", "place").order_by("pk")
        for each in newest(rows):
            yield {
                "garden": each.garden.name,
                "code": each.code,
                "name": plainly(each, scrubber),
                "variety": each.variety.name,
                "place": plainly(each.place, scrubber),
                "phase": each.phase,
                "began_on": each.began_on,
                "held_now": each.holder_id == person.pk and each.phase != Phase.ENDED,
            }


def beds(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the plots somebody holds or held."""
    found = BedHolding.objects.filter(person=person).select_related("garden", "place")
    for each in newest(found.order_by("since", "pk")):
        yield {
            "garden": each.garden.name,
            "bed": plainly(each.place, scrubber),
            "since": each.since,
            "until": each.until,
        }


def tasks(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the tasks somebody has or closed."""
    found = Task.objects.filter(Q(assignee=person) | Q(closed_by=person)).select_related(
        *("garden", "plant", "sowing__variety", "chore")
    )
    for each in newest(found.order_by("-latest", "-pk")):
        yield {
            "garden": each.garden.name,
            "what": plainly(each.chore, scrubber) or each.kind,
            "about": plainly(each.plant or each.sowing, scrubber),
            "earliest": each.earliest,
            "latest": each.latest,
            "state": each.state,
            "yours": each.assignee_id == person.pk,
            "closed_by": who(each.closed_by_id, person),
            "closed_at": each.closed_at,
            "why": scrubber.out_of(each.closed_why, own_words=False),
        }


def task_events(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield what happened to tasks that somebody had a part in."""
    found = TaskEvent.objects.filter(Q(by=person) | Q(to=person)).select_related(
        "garden", "task__chore"
    )
    for each in newest(found.order_by("-at", "-pk")):
        chore = each.task.chore
        yield {
            "garden": each.garden.name,
            "task": plainly(chore, scrubber) or each.task.kind,
            "act": each.act,
            "at": each.at,
            "by": who(each.by_id, person),
            "to": who(each.to_id, person),
            "note": scrubber.out_of(each.note, own_words=False),
        }
