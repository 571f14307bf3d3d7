"""What a row behind a figure says: a plant, an entry, a task, a person, a night."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Model
from django.urls import reverse

from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind, rule_for
from lifecycle.models import (
    Entry,
    FrostNight,
    GivenAway,
    Membership,
    Person,
    Place,
    Plant,
    Task,
)
from lifecycle.records.year.report_figure import (
    BEDS,
    ENTRIES,
    GIVEN,
    MEMBERS,
    NIGHTS,
    PEOPLE,
    PLANTS,
    TASKS,
)
from lifecycle.reminders.work.task_words import task_name
from lifecycle.web.door import record_url, rows
from lifecycle.web.words import amount, choice_of, day_words, label_of


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity in SI with its unit, written in the reader's where it is read."""

    value: float
    unit: str


Cell = str | date | Amount | None
Row = tuple[str, list[Cell]]
"""The address of what the row is about, "" for none, and its cells."""

HEADS: dict[str, tuple[str, ...]] = {
    MEMBERS: ("Name", "Joined", "Left"),
    PEOPLE: ("Name",),
    BEDS: ("Bed", "Site"),
    PLANTS: ("Plant", "Code", "Variety on its label"),
    ENTRIES: ("Day", "Entry", "Of", "Code", "What", "Amount"),
    TASKS: ("Task", "Site", "Was to be done by"),
    NIGHTS: ("Night", "Site"),
    GIVEN: ("Day", "Weight", "To", "What", "Note"),
}


def rows_behind(member: Membership, kind: str, numbers: Iterable[int]) -> list[Row]:
    """Return these rows in their order, among those of the member's garden; few queries."""
    wanted = list(numbers)
    table, related, words = _KINDS[kind]
    if table is Person:
        found: Any = Person.objects.filter(pk__in=wanted)
        return [("", [person.name]) for person in found.order_by("name", "pk")]
    found = rows(table, member).filter(pk__in=wanted).select_related(*related)
    by_number = {row.pk: row for row in found}
    slug = member.garden.slug
    return [words(by_number[pk], slug) for pk in wanted if pk in by_number]


def as_words(cell: Cell, person: Person) -> str:
    """Return a cell as the reader reads it."""
    if cell is None:
        return ""
    if isinstance(cell, Amount):
        return amount(cell.value, cell.unit, person)
    return day_words(cell) if isinstance(cell, date) else cell


def as_csv(cell: Cell) -> str:
    """Return a cell as a table keeps it: dates by ISO 8601, quantities in SI."""
    if cell is None:
        return ""
    if isinstance(cell, Amount):
        return f"{cell.value:g} {cell.unit}" if cell.unit != "count" else f"{cell.value:g}"
    return cell.isoformat() if isinstance(cell, date) else cell


def _member(row: Membership, slug: str) -> Row:
    return "", [row.person.name, row.joined_on, row.left_on]


def _bed(row: Place, slug: str) -> Row:
    return reverse("bed", args=[slug, row.pk]), [row.name, row.site.name]


def _plant(row: Plant, slug: str) -> Row:
    return record_url(row, slug), [row.name, row.code, row.label_variety.name]


def _entry(row: Entry, slug: str) -> Row:
    record = row.plant or row.sowing
    assert record is not None
    cells: list[Cell] = [row.happened_on, label_of(row), str(record), record.code, choice_of(row)]
    return reverse("entry", args=[slug, row.pk]), [*cells, _quantity(row)]


def _quantity(row: Entry) -> Amount | None:
    rule = rule_for(Kind(row.kind), "sowing" if row.sowing_id else "plant").quantity
    if row.quantity is None or rule is None:
        return None
    return Amount(row.quantity, rule.unit)


def _task(row: Task, slug: str) -> Row:
    return reverse("task", args=[slug, row.pk]), [task_name(row), row.site.name, row.latest]


def _night(row: FrostNight, slug: str) -> Row:
    url = reverse("frost-night", args=[slug, row.site_id, row.night.isoformat()])
    return url, [row.night, row.site.name]


def _given(row: GivenAway, slug: str) -> Row:
    what = CROPS[row.species].label if row.species in CROPS else "Mixed harvest"
    to = GivenAway.To(row.to).label
    return "", [row.given_on, Amount(row.grams, "g"), to, what, row.note]


_KINDS: dict[str, tuple[type[Model], tuple[str, ...], Callable[..., Row]]] = {
    MEMBERS: (Membership, ("person",), _member),
    PEOPLE: (Person, (), _member),
    BEDS: (Place, ("site",), _bed),
    PLANTS: (Plant, ("label_variety",), _plant),
    ENTRIES: (Entry, ("plant", "sowing"), _entry),
    TASKS: (Task, ("plant", "sowing", "chore__plant", "site"), _task),
    NIGHTS: (FrostNight, ("site",), _night),
    GIVEN: (GivenAway, (), _given),
}
