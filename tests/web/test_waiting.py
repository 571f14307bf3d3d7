"""The waiting list: by date, invited from in and out of turn, and nobody else's."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import Invitation, WaitingPerson
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.web.people_pages import queries_of

SignIn = Callable[..., Client]


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}people/waiting"


def waits(world: World, number: int) -> WaitingPerson:
    return WaitingPerson.objects.create(
        garden=world.garden,
        name=f"Person {number}",
        email=f"w{number}@new.example",
        asked_on=NOON.date(),
        made_at=NOON,
    )


def test_adding_with_the_day_of_asking(world: World, address: str, as_person: SignIn) -> None:
    client = as_person(world.coordinator)
    assert "Nobody waits" in client.get(address).content.decode()
    waits(world, 1)
    given = {
        "name": "Anna",
        "email": "anna@new.example",
        "note": "By bike",
        "asked_on": "2025-03-01",
    }
    assert client.post(address, given)["Location"] == f"{address}?said=added"
    text = client.get(address).content.decode()
    assert "2 people waiting for a place" in text
    assert text.index("Anna") < text.index("Person 1")
    for words in ("1 March 2025", "By bike", "anna@new.example"):
        assert words in text
    for bad in ({"asked_on": "2026-10-15"}, {"asked_on": "soon"}, {"name": ""}, {}):
        assert client.post(address, {**given, **bad}).status_code == 422, bad


def test_inviting_and_taking_off(world: World, address: str, as_person: SignIn) -> None:
    first, second, third = (waits(world, number) for number in range(3))
    client = as_person(world.coordinator)
    assert client.post(address, {"act": "invite", "waiting": second.pk}).status_code == 302
    assert client.post(address, {"act": "remove", "waiting": third.pk}).status_code == 302
    assert Invitation.objects.get().email == second.email
    text = client.get(address).content.decode()
    assert first.email in text
    assert second.email not in text
    assert third.email not in text
    assert client.post(address, {"act": "invite", "waiting": second.pk}).status_code == 422


def test_garbage_and_other_gardens(world: World, address: str, as_person: SignIn) -> None:
    elsewhere = MembershipFactory(role="owner")
    theirs = WaitingPerson.objects.create(
        garden=elsewhere.garden, name="X", email="x@y.example", asked_on=NOON.date(), made_at=NOON
    )
    client = as_person(world.owner)
    for value in (theirs.pk, "", "x", "-1", "9" * 30, "²"):
        for act in ("invite", "remove"):
            assert client.post(address, {"act": act, "waiting": value}).status_code == 404, value
    theirs.refresh_from_db()
    assert (theirs.invited_at, theirs.removed_at) == (None, None)


@pytest.mark.parametrize("role", ["member", "committee"])
def test_only_who_leads(world: World, address: str, as_person: SignIn, role: str) -> None:
    waiting = waits(world, 1)
    client = as_person(getattr(world, role))
    assert client.get(address).status_code == 403
    assert client.post(address, {"act": "remove", "waiting": waiting.pk}).status_code == 403


def test_queries_do_not_grow(world: World, address: str, as_person: SignIn) -> None:
    client, seen = as_person(world.owner), []
    client.get(address)
    for first, last in ((0, 3), (3, 45)):
        for number in range(first, last):
            waits(world, number)
        seen.append(queries_of(client, address))
    # session, person, membership, site, count, rows
    assert seen[0] == seen[1] <= 6
