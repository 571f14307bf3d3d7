"""The garden's own link: open or to the waiting list, and the same answer for every address."""

import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Garden, Invitation, Joining, Letter, WaitingPerson
from lifecycle.records.people.join_link import join_path
from lifecycle.records.people.waiting import add_waiting, still_waiting
from lifecycle.records.secrets import new_nonce
from lifecycle.reminders.people.letters import send_letters
from lifecycle.web.people.joining import ASKED_FROM_ONE_PLACE
from tests.conftest import World
from tests.factories import NOON, PersonFactory
from tests.records.invitations import ADDRESS, an_invitation

SignIn = Callable[..., Client]


def opened(world: World, joining: Joining = Joining.OPEN) -> str:
    """Open the garden and return its link."""
    Garden.objects.filter(pk=world.garden.pk).update(joining=joining, join_nonce=new_nonce())
    return join_path(Garden.objects.get(pk=world.garden.pk))


def statements(path: str, given: dict[str, str]) -> list[str]:
    """Return what the form made the database do: the statements, without what they were given.

    A savepoint bears a number, which is no part of the work.
    """
    with CaptureQueriesContext(connection) as queries:
        assert Client().post(path, given).status_code == 302
    # What kind of statement, and on which table.
    kinds = (re.match(r"(\w+)(?:.*?(?:FROM|INTO|UPDATE) (\S+))?", each["sql"]) for each in queries)
    return [" ".join(part for part in kind.groups() if part) for kind in kinds if kind]


def seen(path: str, given: dict[str, str]) -> tuple[int, str, str]:
    """Return what a stranger sees after sending the form: status, address, page."""
    client = Client()
    answer = client.post(path, given)
    text = client.get(answer["Location"]).content.decode()
    plain = re.sub(r'value="[^"]*"|nonce="[^"]*"', "", text)
    return answer.status_code, answer["Location"], plain


@pytest.mark.parametrize("joining", [Joining.OPEN, Joining.WAITING])
def test_the_answer_is_the_same_whatever_the_address(world: World, joining: Joining) -> None:
    path = opened(world, joining)
    PersonFactory(email="known@elsewhere.example")
    an_invitation(world.coordinator, "invited@newcomer.example")
    addresses = [
        ADDRESS,
        ADDRESS,
        "known@elsewhere.example",
        "invited@newcomer.example",
        world.member.person.email,
        world.owner.person.email.upper(),
    ]
    answers = {seen(path, {"name": "Anna", "email": address}) for address in addresses}
    send_letters(now=NOON)
    assert len(answers) == 1
    assert next(iter(answers))[:2] == (302, f"{path}?asked=1")
    asked = Invitation.objects.filter(made_by__isnull=True).values_list("email", flat=True)
    waiting = still_waiting(WaitingPerson.objects.all()).values_list("email", flat=True)
    if joining == Joining.OPEN:
        assert set(asked) == {ADDRESS, "known@elsewhere.example"}
        assert not waiting
    else:
        assert set(waiting) == {ADDRESS, "known@elsewhere.example", "invited@newcomer.example"}
        assert not asked


@pytest.mark.parametrize("joining", [Joining.OPEN, Joining.WAITING])
def test_the_work_is_the_same_whatever_the_address(world: World, joining: Joining) -> None:
    path = opened(world, joining)
    PersonFactory(email="known@elsewhere.example")
    an_invitation(world.coordinator, "invited@newcomer.example")
    world.committee.left_on = NOON.date()
    world.committee.save()
    waiting = {"name": "Ben", "note": "", "asked_on": NOON.date(), "now": NOON}
    add_waiting(world.coordinator, email="waits@newcomer.example", **waiting)
    work = {
        email: statements(path, {"name": "Anna", "email": email})
        for email in (
            "stranger@newcomer.example",
            "known@elsewhere.example",
            "invited@newcomer.example",
            "waits@newcomer.example",
            world.member.person.email,
            world.committee.person.email,
        )
    }
    stranger = work.pop("stranger@newcomer.example")
    assert any(each.startswith("INSERT ") for each in stranger)
    for email, done in work.items():
        assert done == stranger, email


def test_opening_it_changes_nothing(world: World) -> None:
    path = opened(world)
    text = Client().get(path).content.decode()
    assert "Join Northfield" in text
    assert not Letter.objects.exists()


def test_a_link_that_is_not_one_names_no_garden(world: World) -> None:
    path = opened(world)
    wrong = [f"/join/{world.garden.pk}/{'x' * 24}", f"/join/{10**20}/x"]
    Garden.objects.update(joining=Joining.INVITED)
    for address in (path, *wrong):
        for answer in (
            Client().get(address),
            Client().post(address, {"name": "A", "email": "a@b.example"}),
        ):
            assert answer.status_code == 404
            assert "Northfield" not in answer.content.decode()
    assert not Invitation.objects.exists()


@pytest.mark.parametrize(
    "given",
    [{}, {"name": "Anna"}, {"name": "", "email": ADDRESS}, {"name": "A\x00", "email": "a\x00@b.c"}],
)
def test_what_cannot_be_read_is_asked_again(world: World, given: dict[str, str]) -> None:
    answer = Client().post(opened(world), given)
    assert answer.status_code == 422
    assert not Invitation.objects.exists()


def test_an_answer_does_not_grow_with_what_was_typed(world: World) -> None:
    given = {"name": "n" * 5000, "email": f"{'e' * 5000}@newcomer.example"}
    text = Client().post(opened(world), given).content.decode()
    assert "n" * 60 in text
    assert "n" * 61 not in text
    assert "e" * 255 not in text


def test_nothing_but_membership_can_be_asked_for(world: World) -> None:
    Client().post(
        opened(world),
        {"name": "Anna", "email": ADDRESS, "role": "owner", "place": world.bed.pk, "made_by": "1"},
    )
    send_letters(now=NOON)
    made = Invitation.objects.get()
    assert (made.role, made.place, made.made_by, made.garden) == (
        "member",
        None,
        None,
        world.garden,
    )


def test_one_place_cannot_mail_the_whole_world(world: World) -> None:
    path, client = opened(world), Client()
    for number in range(ASKED_FROM_ONE_PLACE):
        given = {"name": "Anna", "email": f"a{number}@newcomer.example"}
        assert client.post(path, given).status_code == 302
    for email in ("more@newcomer.example", world.member.person.email):
        answer = client.post(path, {"name": "Anna", "email": email})
        assert answer.status_code == 429
    assert Letter.objects.count() == ASKED_FROM_ONE_PLACE


def test_who_is_signed_in_need_not_type(world: World, as_person: SignIn) -> None:
    text = as_person(world.outsider).get(opened(world)).content.decode()
    assert world.outsider.email in text


def test_the_waiting_list_takes_a_note(world: World) -> None:
    path = opened(world, Joining.WAITING)
    Client().post(path, {"name": "Anna", "email": ADDRESS, "note": "Near the gate, please"})
    assert WaitingPerson.objects.get().note == "Near the gate, please"
    long = {"name": "Anna", "email": "b@newcomer.example", "note": "x" * 201}
    assert Client().post(path, long).status_code == 422
