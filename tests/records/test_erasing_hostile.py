"""Whatever somebody called themselves, erasing them rewrites nothing of the garden's record."""

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lifecycle.models import Garden, Invitation, Letter, Message, Person, Task, WaitingPerson
from lifecycle.records.people import letters
from lifecycle.records.people.erasing import erase_person, scrubber_of, take_name_out
from lifecycle.records.people.erasing_asked import ask_to_be_erased
from lifecycle.records.people.erasing_words import take_out_of_garden, words_of
from lifecycle.records.people.leaving import WINDOW, leave
from lifecycle.records.people.people import set_preferences
from lifecycle.records.people.person_columns import text_columns
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PersonFactory, a_task
from tests.records.invitations import an_invitation

pytestmark = pytest.mark.django_db
REASON = "Cut back from {2026-10-14} to {2026-11-02}: the plant rests, do not wait."


def kept() -> Iterator[tuple[str, Any]]:
    """Yield what erasing must never touch: names of things, keys, the plan's reasons."""
    for each in text_columns():
        names = [name for name in (*each.texts, *each.structures) if name not in words_of(each)]
        if names:
            rows = each.table._base_manager.order_by("pk")
            yield from ((each.table.__name__, row) for row in rows.values("pk", *names))


WORDS = (
    *("Cayenne", "by", "the", "gate", "Bed", "3", "Northfield", "Canal", "bank", "do", "not"),
    *("from", "to", "Cut back", "rests", "cut_back", "former", "member", "garden", "{2026-10-14}"),
)
HOSTILE = st.lists(st.sampled_from(WORDS), min_size=1, max_size=4).map(" ".join)
NUMBERS = st.sampled_from(["2026 10 14", "20261014", "2026 2027", "+2026 1014", "10 14 2026"])


def a_message(world: World, person: Person, words: str) -> Message:
    return Message.objects.create(
        garden=world.garden,
        key=f"cut_back from {person.pk}",
        person=person,
        channel="inbox",
        for_day=NOON.date(),
        data={"from": "to", "member": [1]},
        subject=words,
        not_before=NOON,
        expires_at=NOON,
        made_at=NOON,
    )


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(name=HOSTILE, phone=NUMBERS)
def test_a_hostile_name_changes_no_key_reason_or_name(world: World, name: str, phone: str) -> None:
    if not Task.objects.exists():
        task = a_task(world.plant, "cut_back")
        Task.objects.filter(pk=task.pk).update(reason=REASON)
        a_message(world, world.owner.person, "Bed 3")
    Person.objects.filter(pk=world.member.person_id).update(
        name=name, phone=phone, former_names=["Bed 3", f"{name} to"]
    )
    before = list(kept())
    person = Person.objects.get(pk=world.member.person_id)
    take_out_of_garden(world.garden.pk, scrubber_of(person, world.garden.pk))
    assert list(kept()) == before
    assert Task.objects.get().reason == REASON


def test_a_name_that_a_thing_or_another_person_bears_stays_in_words(world: World) -> None:
    for name in (world.plant.name, str(world.bed), "Ben Orchard"):
        Garden.objects.filter(pk=world.garden.pk).update(safety=f"Look to {name}.")
        member = MembershipFactory(garden=world.garden, person=PersonFactory(name=name))
        if name == "Ben Orchard":
            MembershipFactory(garden=world.garden, person=PersonFactory(name=name))
        leave(member, nameless=True, now=NOON)
        member.refresh_from_db()
        assert take_name_out(member, now=NOON + WINDOW)
        world.garden.refresh_from_db()
        assert world.garden.safety == f"Look to {name}."


def test_whom_to_call_stays_in_others_words(world: World) -> None:
    member = MembershipFactory(
        garden=world.garden,
        person=PersonFactory(name="Ana Ruiz"),
        emergency_name="Tree Surgeon",
        emergency_phone="600 123 456",
    )
    Garden.objects.filter(pk=world.garden.pk).update(safety="Tree Surgeon: 600 123 456.")
    leave(member, nameless=True, now=NOON)
    member.refresh_from_db()
    assert take_name_out(member, now=NOON + WINDOW)
    world.garden.refresh_from_db()
    assert world.garden.safety == "Tree Surgeon: 600 123 456."


def renamed(person: Person, name: str) -> None:
    set_preferences(
        person,
        name=name,
        temperature=person.temperature,
        length=person.length,
        phone="",
        digest_day=6,
        digest_hour=18,
        choices={},
    )


def test_names_borne_before_go_too_and_are_forgotten(world: World) -> None:
    person = world.member.person
    renamed(person, "Ana Ruiz")
    renamed(person, "Anita")
    renamed(person, "Ana Ruiz")
    renamed(person, "Nobody Known")
    assert person.former_names == ["Member", "Anita", "Ana Ruiz"]
    message = a_message(world, world.owner.person, "Anita and Ana Ruiz take Cayenne")
    ask_to_be_erased(person, now=NOON)
    assert erase_person(person, now=NOON + WINDOW)
    message.refresh_from_db()
    assert message.subject == "Former member and former member take Cayenne"
    person.refresh_from_db()
    assert person.former_names == []


def test_addresses_of_used_invitations_go_with_what_hangs_on_them(world: World) -> None:
    person = world.member.person
    used = an_invitation(world.coordinator, "ana.other@home.example")
    Invitation.objects.filter(pk=used.pk).update(used_at=NOON, used_by=person)
    waiting = an_invitation(MembershipFactory(role="owner"), person.email)
    WaitingPerson.objects.create(
        garden=world.garden,
        name="Ana",
        email="Ana.Other@home.example",
        asked_on=NOON.date(),
        made_at=NOON,
    )
    letters.ask_for_link("ana.other@home.example", now=NOON)
    handed = an_invitation(world.coordinator, world.owner.person.email.replace("owner", "o2"))
    owners = PersonFactory(email=handed.email)
    Invitation.objects.filter(pk=handed.pk).update(used_at=NOON, used_by=person)
    kept_letter = letters.ask_for_link(owners.email, now=NOON)
    ask_to_be_erased(person, now=NOON)
    assert erase_person(person, now=NOON + WINDOW)
    assert not Letter.objects.filter(email__icontains="ana.other").exists()
    assert Letter.objects.filter(pk=kept_letter.pk).exists()
    assert not Invitation.objects.filter(email__icontains="ana.other").exists()
    assert not WaitingPerson.objects.exists()
    waiting.refresh_from_db()
    assert waiting.revoked_at == NOON + WINDOW
    assert waiting.email.endswith("@former.invalid")
