"""Nothing of an erased person is left anywhere: every column of every table is read."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.db import connection

from lifecycle.models import (
    CalendarAddress,
    Entry,
    Letter,
    Membership,
    Message,
    Person,
    Plant,
    WorkHours,
)
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.people.erasing import erase_person, take_name_out
from lifecycle.records.people.erasing_asked import ask_to_be_erased
from lifecycle.records.people.erasing_words import BY_THE_SITE, TYPED, words_of
from lifecycle.records.people.leaving import WINDOW, leave
from lifecycle.records.people.person_columns import person_columns, text_columns, way_to_garden
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.records.everywhere import (
    CONTACT,
    CONTACT_PHONE,
    EMAIL,
    ENDPOINT,
    NAME,
    PHONE,
    act_everywhere,
    room_in,
    somebody,
)

pytestmark = [pytest.mark.django_db, pytest.mark.database]
LATER = NOON + WINDOW


@pytest.fixture
def ana(world: World) -> Person:
    person = somebody(world)
    act_everywhere(world, person)
    return person


def all_words() -> Iterator[tuple[str, str]]:
    """Yield every value of every table of the database as text, with where it stands."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            described = connection.introspection.get_table_description(cursor, table)
            for column in (each.name for each in described):
                place = f"{connection.ops.quote_name(table)}"
                name = connection.ops.quote_name(column)
                cursor.execute(f"SELECT CAST({name} AS TEXT) FROM {place}")
                for (value,) in cursor.fetchall():
                    if value is not None:
                        yield f"{table}.{column}", str(value)
    for session in Session.objects.all():
        yield "session", repr(session.get_decoded())


def secrets_of(person: Person) -> list[str]:
    address = CalendarAddress.objects.get(person=person)
    found = [NAME, "Ruiz", EMAIL, PHONE, "600123456", CONTACT, CONTACT_PHONE, ENDPOINT]
    found += [person.password, str(address.nonce), address.nonce.hex, person.session_nonce.hex]
    return [*found, str(person.session_nonce)]


def left_over(secrets: list[str]) -> set[tuple[str, str]]:
    return {
        (place, secret)
        for place, value in all_words()
        for secret in secrets
        if secret.casefold() in value.casefold()
    }


def names_of_things() -> set[str]:
    """Return the columns that erasing leaves as they are: names of things, keys, the plan's own."""
    return {
        f"{each.table._meta.db_table}.{each.table._meta.get_field(name).column}"
        for each in text_columns()
        for name in (*each.texts, *each.structures)
        if name not in words_of(each)
    }


def test_the_world_covers_every_column_that_names_somebody(world: World, ana: Person) -> None:
    """A table added later that names people has to be filled, or this fails."""
    missing = [
        f"{each.table.__name__}.{each.column}"
        for each in person_columns()
        if not each.table._base_manager.filter(**{each.column: ana}).exists()
    ]
    assert missing == []
    assert {each.table.__name__ for each in person_columns()} >= {
        *("Entry", "Plant", "Inspection_told", "PublishedTask", "TaskEvent", "Letter"),
    }
    named = {place.partition(".")[0] for place, _ in left_over([NAME])}
    worded = [
        each.table._meta.db_table
        for each in text_columns()
        if any(room_in(each.table, name) >= len(NAME) for name in each.texts)
    ]
    assert [table for table in worded if table not in named] == []


def test_every_column_for_words_is_known(world: World) -> None:
    tables = {each.table.__name__: {*each.texts, *each.structures} for each in text_columns()}
    for known in (TYPED, BY_THE_SITE):
        for table, columns in known.items():
            assert set(columns) <= tables[table], table
    # What a person tells in a sentence is called so; a column added later has to be looked at.
    told = {
        (table, name)
        for table, names in tables.items()
        for name in names
        if name in ("note", "why", "reason", "what", "finding") or name.endswith("_why")
    }
    plans = {("Task", "reason"), ("Task", "promoted_why")}
    assert told - plans <= {(table, name) for table in TYPED for name in TYPED[table]}


def test_erasing_an_account_leaves_nothing(world: World, ana: Person) -> None:
    elsewhere = MembershipFactory(person=ana)
    secrets = secrets_of(ana)
    # One database keeps a UUID with its dashes, the other without.
    assert len({secret for _, secret in left_over(secrets)}) == len(secrets) - 2
    before, wrong = contents(), list(mismatches())
    ask_to_be_erased(ana, now=NOON)
    ana.refresh_from_db()
    secrets += [ana.session_nonce.hex, str(ana.session_nonce)]
    assert not erase_person(ana, now=LATER - timedelta(minutes=1))
    assert erase_person(ana, now=LATER)
    assert not erase_person(ana, now=LATER)
    assert {place for place, _ in left_over(secrets)} <= names_of_things()
    assert {secret for _, secret in left_over(secrets)} <= {NAME, "Ruiz", EMAIL, PHONE}
    assert not [
        each
        for each in person_columns()
        if each.table._base_manager.filter(**{each.column: ana}).exists()
    ]
    ana.refresh_from_db()
    assert (ana.name, ana.is_active, ana.has_usable_password()) == ("Former member", False, False)
    assert (ana.erased_at, ana.last_login, ana.last_seen_on) == (LATER, None, None)
    assert not Session.objects.exists()
    stand_ins = Person.objects.filter(email__startswith="former-")
    assert {member.person for member in Membership.objects.filter(name_gone_at=LATER)} == set(
        stand_ins
    )
    assert {elsewhere.garden_id, world.garden.pk} == {
        member.garden_id for member in Membership.objects.filter(person__in=stand_ins)
    }
    assert contents() == before
    assert [(each.record, each.column) for each in mismatches()] == [
        (each.record, each.column) for each in wrong
    ]
    assert WorkHours.objects.get().minutes == 30
    assert Plant.objects.get(pk=world.plant.pk).holder in stand_ins


def contents() -> list[tuple[Any, ...]]:
    """Return all entries but for who did them and the words that named somebody."""
    return list(
        Entry.objects.order_by("pk").values_list(
            *("pk", "uuid", "plant", "sowing", "kind", "happened_on", "received_at"),
            *("stands_at", "quantity", "choice", "place", "variety", "other", "replaces"),
        )
    )


def test_a_garden_forgets_a_name_and_the_person_stays_elsewhere(world: World, ana: Person) -> None:
    elsewhere = MembershipFactory(person=ana)
    counts = {each.table: each.table._base_manager.count() for each in person_columns()}
    before = contents()
    leave(world.member, nameless=True, now=NOON)
    world.member.refresh_from_db()
    assert take_name_out(world.member, now=LATER)
    world.member.refresh_from_db()
    stand_in = world.member.person
    assert (stand_in.name, stand_in.is_active) == ("Former member", False)
    assert world.member.name_gone_at == LATER
    own = {table._meta.db_table for table in counts if way_to_garden(table) is None} | {
        Person._meta.db_table,
        "django_session",
    }
    found = {place for place, _ in left_over([NAME, EMAIL, PHONE, CONTACT, CONTACT_PHONE])}
    beyond = {place for place in found if place.partition(".")[0] not in own}
    assert beyond - names_of_things() <= {"session"}
    assert Membership.objects.get(pk=elsewhere.pk).person == ana
    ana.refresh_from_db()
    assert (ana.name, ana.email) == (NAME, EMAIL)
    assert contents() == before
    deleted = {"Message", "MessageItem", "CalendarItem", "Away", "OnCallTurn", "WorkDraft"}
    for table, number in counts.items():
        if table.__name__ not in {*deleted, "Letter", "AuditNote", "TaskEvent", "Membership"}:
            assert table._base_manager.count() == number, table


def test_a_name_goes_once_and_not_from_somebody_who_is_back(world: World, ana: Person) -> None:
    leave(world.member, nameless=True, now=NOON)
    world.member.refresh_from_db()
    again = MembershipFactory(garden=world.garden, person=ana)
    assert not take_name_out(world.member, now=LATER)
    assert Person.objects.filter(name="Former member").count() == 0
    again.delete()
    Membership.objects.filter(pk=world.member.pk).update(nameless=True)
    assert take_name_out(world.member, now=LATER)
    assert not take_name_out(Membership.objects.get(pk=world.member.pk), now=LATER)


def test_words_of_others_that_only_look_alike_stay(world: World, ana: Person) -> None:
    rose = Person.objects.create_user("rose@garden.example", None, name="Rose")
    member = MembershipFactory(garden=world.garden, person=rose)
    note = Entry.objects.filter(kind="note").first()
    assert note is not None
    Entry._base_manager.filter(pk=note.pk).update(note="Mulched the Rose by the wall.")
    message = Message.objects.create(
        garden=world.garden,
        key="to somebody else",
        person=world.owner.person,
        channel="inbox",
        for_day=NOON.date(),
        subject="Northfield: Rose asks you to take a plant",
        body="Rose hands it on. Rosemary stays.",
        html="<p>Rose</p>",
        not_before=NOON,
        expires_at=NOON,
        made_at=NOON,
    )
    leave(member, nameless=True, now=NOON)
    member.refresh_from_db()
    assert take_name_out(member, now=LATER)
    note.refresh_from_db()
    message.refresh_from_db()
    assert note.note == "Mulched the Rose by the wall."
    assert message.subject == "Northfield: former member asks you to take a plant"
    assert message.body == "Former member hands it on. Rosemary stays."
    assert message.html == "<p>Former member</p>"
    assert not Letter.objects.filter(email="nobody").exists()
