"""A former member's name goes out of every text and structure that a garden keeps."""

from itertools import count
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Field, Model

from lifecycle.records.people.name_words import Scrubber
from lifecycle.records.people.person_columns import TextColumns, text_columns

BATCH = 500
MOST_TRIES = 50

WRITTEN_BY_THE_SITE = {
    ("Message", "subject"),
    ("Message", "body"),
    ("Message", "html"),
    ("CalendarItem", "content"),
    ("Task", "reason"),
    ("Task", "promoted_why"),
    ("ClosedYear", "figures"),
    ("AuditNote", "detail"),
}
"""Columns whose words the site made itself, so that a name of one word in them is a person's."""


def take_out_of_garden(garden_id: int, scrubber: Scrubber) -> int:
    """Take names out of all that a garden keeps; returns how many rows changed.

    May be broken off and done again: what is out stays out.
    """
    return sum(_take_out_of(columns, garden_id, scrubber) for columns in text_columns())


def _take_out_of(columns: TextColumns, garden_id: int, scrubber: Scrubber) -> int:
    # The plain manager: what is written once keeps its content, but not who it was about.
    rows = columns.table._base_manager.filter(**{columns.way: garden_id})
    names = ("pk", *columns.texts, *columns.structures)
    changed = 0
    for row in rows.order_by("pk").values(*names).iterator(chunk_size=BATCH):
        fresh = _fresh(columns, row, scrubber)
        if fresh:
            _write(columns.table, row["pk"], fresh)
            changed += 1
    return changed


def _fresh(columns: TextColumns, row: dict[str, Any], scrubber: Scrubber) -> dict[str, Any]:
    """Return the columns of a row that change, with what they become."""
    table = columns.table.__name__
    fresh: dict[str, Any] = {}
    for name in columns.texts:
        own = (table, name) in WRITTEN_BY_THE_SITE
        fresh[name] = scrubber.out_of(row[name] or "", own_words=own)
    for name in columns.structures:
        own = (table, name) in WRITTEN_BY_THE_SITE
        fresh[name] = scrubber.out_of_structure(row[name], own_words=own)
    return {
        name: _cut(columns.table._meta.get_field(name), value)
        for name, value in fresh.items()
        if value != row[name] and (value or row[name])
    }


def _cut(field: Any, value: Any) -> Any:
    longest = field.max_length if isinstance(field, Field) else None
    return value[:longest] if longest and isinstance(value, str) else value


def _write(table: type[Model], pk: Any, fresh: dict[str, Any]) -> None:
    """Write a row; where a garden has one thing of a name, the next gets a number after it."""
    row = table._base_manager.filter(pk=pk)
    for number in count(1):
        try:
            with transaction.atomic():
                row.update(**(fresh if number == 1 else _numbered(table, fresh, number)))
            return
        except IntegrityError:
            if number == MOST_TRIES:
                raise


def _numbered(table: type[Model], fresh: dict[str, Any], number: int) -> dict[str, Any]:
    tail = f" {number}"

    def with_number(name: str, value: Any) -> Any:
        longest = getattr(table._meta.get_field(name), "max_length", None)
        if not isinstance(value, str) or not longest:
            return value
        return f"{value[: longest - len(tail)]}{tail}"

    return {name: with_number(name, value) for name, value in fresh.items()}
