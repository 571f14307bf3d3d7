"""Every column that names a person, and the way from its table to the garden that owns the row.

Found by looking at the tables themselves, so that one added later is not forgotten.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from django.apps import apps
from django.db.models import Field, ForeignKey, JSONField, Model, SlugField, TextField
from django.db.models.fields import CharField, EmailField

from lifecycle.models import Garden, Person

LONGEST_WAY = 3


@dataclass(frozen=True, slots=True)
class PersonColumn:
    """A foreign key to a person. ``way`` is the lookup of the row's garden, "" without one."""

    table: type[Model]
    column: str
    way: str


@dataclass(frozen=True, slots=True)
class TextColumns:
    """The columns of one garden-owned table that hold words, typed or written by the site."""

    table: type[Model]
    way: str
    texts: tuple[str, ...]
    structures: tuple[str, ...]


@cache
def person_columns() -> tuple[PersonColumn, ...]:
    """Return every foreign key to a person, those of many-to-many tables among them."""
    return tuple(
        PersonColumn(table, field.name, way_to_garden(table) or "")
        for table in _tables()
        for field in table._meta.concrete_fields
        if isinstance(field, ForeignKey) and field.related_model is Person
    )


@cache
def text_columns() -> tuple[TextColumns, ...]:
    """Return what holds words in every garden-owned table, the garden's own among them.

    Addresses of pages and what is chosen from a list are no words; mail addresses are handled
    by those who keep them.
    """
    found = []
    for table in _tables():
        way = way_to_garden(table)
        if way is None:
            continue
        fields = table._meta.concrete_fields
        texts = tuple(field.name for field in fields if _holds_words(field))
        structures = tuple(field.name for field in fields if isinstance(field, JSONField))
        if texts or structures:
            found.append(TextColumns(table, way, texts, structures))
    return tuple(found)


@cache
def way_to_garden(table: type[Model]) -> str | None:
    """Return the lookup that leads from a row to its garden, or None for rows of no garden.

    Only keys that are always there count: a row that may hang on a garden is not owned by it.
    """
    if table is Garden:
        return "pk"
    queue: deque[tuple[type[Model], tuple[str, ...]]] = deque([(table, ())])
    while queue:
        here, way = queue.popleft()
        for field in _keys(here):
            target = field.related_model
            if target is Garden:
                return "__".join([*way, field.name])
            if len(way) < LONGEST_WAY and target is not Person and not isinstance(target, str):
                queue.append((target, (*way, field.name)))
    return None


def _keys(table: type[Model]) -> Iterator["ForeignKey[Model, Model]"]:
    for field in table._meta.concrete_fields:
        if isinstance(field, ForeignKey) and not field.null:
            yield field


def _tables() -> list[type[Model]]:
    return [
        table
        for table in apps.get_models(include_auto_created=True)
        if table._meta.managed and not table._meta.proxy
    ]


def _holds_words(field: "Field[object, object]") -> bool:
    if field.choices or isinstance(field, EmailField | SlugField):
        return False
    return isinstance(field, CharField | TextField)
