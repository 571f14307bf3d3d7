"""A former member's name goes out of what people typed and the site wrote in a garden.

The names of things stay as they are, and so do keys, codes and the reasons of the plan: somebody
who calls themselves like a bed must not be able to rewrite the record by going.
"""

from collections.abc import Mapping
from typing import Any

from django.db.models import Field, Q

from lifecycle.models import Task, TaskEvent
from lifecycle.records.people.name_words import Scrubber
from lifecycle.records.people.person_columns import TextColumns, text_columns

BATCH = 500

TYPED: Mapping[str, tuple[str, ...]] = {
    "BedYear": ("note",),
    "Chore": ("how",),
    "Entry": ("note",),
    "FrostNight": ("dismissed_why",),
    "Garden": ("waiver", "safety"),
    "GardenCover": ("kept_in",),
    "GivenAway": ("note",),
    "HandOver": ("note", "why"),
    "Inspection": ("finding",),
    "SiteEventRow": ("note", "withdrawn_why"),
    "Strike": ("reason",),
    "Swap": ("reason",),
    "SwapStrike": ("reason",),
    "Task": ("closed_why",),
    "TaskEvent": ("note",),
    "Tool": ("kept_in", "note"),
    "WaitingPerson": ("note",),
    "WorkHours": ("what",),
}
"""By table, the columns in which people tell something in their own words."""

BY_THE_SITE: Mapping[str, tuple[str, ...]] = {
    "Message": ("subject", "body", "html", "last_error"),
    "CalendarItem": ("content",),
}
"""Columns whose words the site made itself, so that a name of one word in them is a person's."""

_NOT_THE_PLAN: Mapping[str, Q] = {
    "Task": ~Q(state=Task.State.WITHDRAWN),
    "TaskEvent": ~Q(act__in=[TaskEvent.Act.MOVED, TaskEvent.Act.WITHDRAWN]),
}
"""Rows whose words people typed, in tables in which the plan writes its own too."""


def words_of(columns: TextColumns) -> tuple[str, ...]:
    """Return the columns of a table from which names are taken out."""
    table = columns.table.__name__
    return (*TYPED.get(table, ()), *BY_THE_SITE.get(table, ()))


def take_out_of_garden(garden_id: int, scrubber: Scrubber) -> int:
    """Take names out of all that a garden keeps in words; returns how many rows changed.

    May be broken off and done again: what is out stays out.
    """
    return sum(_take_out_of(columns, garden_id, scrubber) for columns in text_columns())


def _take_out_of(columns: TextColumns, garden_id: int, scrubber: Scrubber) -> int:
    names = words_of(columns)
    if not names:
        return 0
    # The plain manager: what is written once keeps its content, but not who it was about.
    table = columns.table._base_manager
    rows = table.filter(_NOT_THE_PLAN.get(columns.table.__name__, Q()), **{columns.way: garden_id})
    changed = 0
    for row in rows.order_by("pk").values("pk", *names).iterator(chunk_size=BATCH):
        fresh = _fresh(columns, names, row, scrubber)
        if fresh:
            table.filter(pk=row["pk"]).update(**fresh)
            changed += 1
    return changed


def _fresh(
    columns: TextColumns, names: tuple[str, ...], row: dict[str, Any], scrubber: Scrubber
) -> dict[str, Any]:
    """Return the columns of a row that change, with what they become."""
    own_words = columns.table.__name__ in BY_THE_SITE
    fresh = {name: scrubber.out_of_structure(row[name], own_words=own_words) for name in names}
    return {
        name: _cut(columns.table._meta.get_field(name), value)
        for name, value in fresh.items()
        if value != row[name]
    }


def _cut(field: Any, value: Any) -> Any:
    longest = field.max_length if isinstance(field, Field) else None
    return value[:longest] if longest and isinstance(value, str) else value
