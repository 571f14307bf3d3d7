"""Somebody who acted in every table that names people, and left words in every column for words.

Rows are made by looking at the tables, so that a table added later is filled too, or fails here.
"""

from datetime import time
from typing import Any
from uuid import uuid4

from django.contrib.sessions.backends.db import SessionStore
from django.db.models import (
    BinaryField,
    BooleanField,
    DateField,
    DateTimeField,
    Field,
    FloatField,
    ForeignKey,
    IntegerField,
    JSONField,
    Model,
    SlugField,
    TimeField,
    UUIDField,
)
from django.db.models.fields import CharField, EmailField, TextField

from lifecycle.models import (
    Away,
    Entry,
    Garden,
    Membership,
    Person,
    Plant,
    Swap,
    Task,
    WaitingPerson,
)
from lifecycle.records.people.person_columns import (
    TextColumns,
    person_columns,
    text_columns,
    way_to_garden,
)
from tests.conftest import World
from tests.factories import NOON, a_plant, a_task

NAME = "Ana Ruiz Prado"
EMAIL = "ana.ruiz@garden.example"
PHONE = "+34 600 123 456"
CONTACT, CONTACT_PHONE = "Lucía Prado", "+34 699 887 766"
ENDPOINT = "https://push.example/ana-device-1"
WORDS = f"{NAME} ({EMAIL}, {PHONE})"
TODAY = NOON.date()

# What a table's own conditions ask for, beside what its columns do.
_ASKED: dict[str, dict[str, Any]] = {
    "Entry": {"kind": "note", "sowing": None, "choice": "", "material": ""},
    "GerminationTest": {"sown": 10, "sprouted": 5},
    "Task": {"kind": "mulch", "sowing": None, "chore": None},
    # What the plan writes itself names nobody.
    "TaskEvent": {"act": "cannot"},
    "Message": {"state": "sent", "sent_at": NOON},
    "SiteEventRow": {"weather": "hail"},
    "ForecastSource": {"kind": "typed"},
    "FrostNight": {"kill_chance": 0.5, "harm_chance": 0.5},
    "TypedClimate": {"half_zone": "9a"},
    "GivenAway": {"grams": 100},
    "WorkHours": {"minutes": 30},
    "Away": {"cover": None},
    "DayReading": {"tmin_c": 1.0, "tmax_c": 9.0, "rain_mm": 0.0},
    "PushSubscription": {"endpoint": ENDPOINT},
    "Invitation": {"email": EMAIL, "name": NAME, "used_at": NOON, "revoked_at": None},
    "Letter": {"email": EMAIL, "invitation": None, "data": {"to": EMAIL}},
}


def somebody(world: World) -> Person:
    """Make the world's member somebody whom one can find again."""
    person = world.member.person
    person.name, person.email, person.phone = NAME, EMAIL, PHONE
    person.last_seen_on, person.last_login = TODAY, NOON
    person.save()
    Membership.objects.filter(pk=world.member.pk).update(
        emergency_name=CONTACT,
        emergency_phone=CONTACT_PHONE,
        skills=["ladder"],
        waiver_noted_by=person,
    )
    world.member.refresh_from_db()
    return person


def act_everywhere(world: World, person: Person) -> None:
    """Put the person into every column that can name somebody, and their name into words."""
    a_plant(world.owner, world.bed, name="Another")
    Garden.objects.filter(pk=world.garden.pk).update(
        name=f"Garden of {NAME}", waiver=WORDS, safety=f"Call {NAME.upper()}, 600123456."
    )
    for each in person_columns():
        if each.table is not Membership:
            _ensure(each.table, each.column, world, person)
    Away.objects.create(
        garden=world.garden,
        person=world.owner.person,
        cover=person,
        first_day=TODAY,
        last_day=TODAY,
        made_at=NOON,
    )
    for columns in text_columns():
        if not _worded(columns):
            make(columns.table, world, person)
    WaitingPerson.objects.create(
        garden=world.garden, name=NAME, email=EMAIL.upper(), asked_on=TODAY, made_at=NOON
    )
    session = SessionStore()
    session["_auth_user_id"] = str(person.pk)
    session["next"] = EMAIL
    session.create()


def _worded(columns: TextColumns) -> bool:
    """Whether some row of the table names the person, or no column is long enough for it."""
    long = [name for name in columns.texts if room_in(columns.table, name) >= len(NAME)]
    rows = columns.table._base_manager.all()
    found = any(rows.filter(**{f"{name}__contains": NAME}).exists() for name in long)
    return found or (not long and (not columns.structures or rows.exists()))


def room_in(table: type[Model], name: str) -> int:
    """Return how many characters a column takes."""
    field = table._meta.get_field(name)
    return 0 if getattr(field, "unique", False) else getattr(field, "max_length", None) or 9999


def _ensure(table: type[Model], column: str, world: World, person: Person) -> None:
    if not table._base_manager.filter(**{column: person}).exists():
        make(table, world, person)


def make(table: type[Model], world: World, person: Person) -> Model:
    """Make one row of a table in which every person is ``person`` and every word names them."""
    values: dict[str, Any] = {}
    asked = _asked(table, world)
    for field in table._meta.concrete_fields:
        if field.name in asked:
            values[field.name] = asked[field.name]
        elif not (field.primary_key and field.auto_created):
            values[field.name] = _value(field, world, person)
    row = table(**values)
    row.save()
    return row


def _asked(table: type[Model], world: World) -> dict[str, Any]:
    name = table.__name__
    asked = dict(_ASKED.get(name, {}))
    if table in (Entry, Task):
        asked["plant"] = world.plant
    if table is Swap:
        first, second = Plant.objects.filter(garden=world.garden).order_by("pk")[:2]
        asked |= {"first": first, "second": second, "until": None}
    if table.__name__ == "WorkDraft":
        asked["task"] = a_task(world.plant, "lift", number=9)
    return asked


def _value(field: "Field[Any, Any]", world: World, person: Person) -> Any:
    if isinstance(field, ForeignKey):
        return _row_for(field, world, person)
    if isinstance(field, JSONField):
        return {"said": [WORDS]}
    if isinstance(field, BinaryField):
        return b"x"
    if isinstance(field, UUIDField):
        return uuid4()
    for kind, value in (
        (DateTimeField, NOON),
        (DateField, TODAY),
        (TimeField, time(9)),
        (BooleanField, False),
        (FloatField, 1.0),
        (IntegerField, 1),
    ):
        if isinstance(field, kind):
            return value
    return _text(field)


def _row_for(field: "ForeignKey[Any, Any]", world: World, person: Person) -> Any:
    target = field.related_model
    assert isinstance(target, type)
    if target is Person:
        return person
    if target is Garden:
        return world.garden
    if field.null:
        return None
    way = way_to_garden(target)
    rows = target._base_manager.filter(**({way: world.garden} if way else {}))
    if field.unique:
        rows = rows.exclude(pk__in=field.model._base_manager.values(field.name))
    found = rows.order_by("pk").first()
    return found if found is not None else make(target, world, person)


def _text(field: "Field[Any, Any]") -> Any:
    if field.choices:
        chosen = field.get_default() or field.choices[0][0]  # type: ignore[index]
        return chosen
    if isinstance(field, EmailField):
        return EMAIL
    if isinstance(field, SlugField) or not isinstance(field, CharField | TextField):
        return field.get_default()
    unique = f" {uuid4()}" if field.unique else ""
    for words in (f"{WORDS}{unique}", f"{NAME}{unique}", NAME):
        if field.max_length is None or len(words) <= field.max_length:
            return words
    return field.get_default()
