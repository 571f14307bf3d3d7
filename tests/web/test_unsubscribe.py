"""Stopping e-mails from the mail itself: one click, no signing in, nothing by looking."""

from collections.abc import Callable

import pytest
from django.core import mail
from django.test import Client
from django.urls import resolve

from lifecycle.models import Message, MessageChoice, Person
from lifecycle.records.messages.unsubscribing import stop_path
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.work.announce import announce_all
from tests.conftest import World
from tests.factories import NOON, PersonFactory, a_task

pytestmark = pytest.mark.django_db
ONE_CLICK = "List-Unsubscribe=One-Click"
FORM = "application/x-www-form-urlencoded"


@pytest.fixture
def stranger() -> Client:
    """A mail program's server: no cookies, no token."""
    return Client(enforce_csrf_checks=True)


def path_in(sent: mail.EmailMessage) -> str:
    address = sent.extra_headers["List-Unsubscribe"].strip("<>")
    return address.removeprefix("http://127.0.0.1:8000")


def test_one_click_works_before_the_next_mail(world: World, stranger: Client) -> None:
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    dispatch_all(now=NOON)
    [first] = mail.outbox
    Message.objects.filter(channel="email").update(state="pending", sent_at=None)
    answer = stranger.post(path_in(first), ONE_CLICK, content_type=FORM)
    assert answer.status_code == 200
    assert not answer.cookies
    assert dispatch_all(now=NOON) == 0
    assert mail.outbox == [first]
    assert Message.objects.get(channel="email").state == "cancelled"


def test_looking_changes_nothing(world: World, stranger: Client) -> None:
    path = stop_path(world.member.person_id, "frost")
    for answer in (stranger.get(path), stranger.head(path)):
        assert answer.status_code == 200
    text = stranger.get(path).content.decode()
    assert "Stop these e-mails?" in text
    assert "Frost nights" in text
    assert world.member.person.email not in text
    assert not MessageChoice.objects.exists()


def test_it_stops_this_kind_by_e_mail_and_nothing_else(world: World, stranger: Client) -> None:
    person = world.member.person
    text = stranger.post(stop_path(person.pk, "week"), ONE_CLICK, content_type=FORM)
    assert "You get no more of these e-mails" in text.content.decode()
    [row] = MessageChoice.objects.all()
    assert (row.person, row.kind, row.channel, row.wanted) == (person, "week", "email", False)


def test_it_can_be_turned_on_again(world: World, stranger: Client) -> None:
    path = stop_path(world.member.person_id, "due")
    stranger.post(path, ONE_CLICK, content_type=FORM)
    assert "Send them again" in stranger.get(path).content.decode()
    text = stranger.post(path, {"act": "again"}).content.decode()
    assert "You get these e-mails again" in text
    assert MessageChoice.objects.get().wanted


@pytest.mark.parametrize("wrong", ["code", "kind", "person", "nobody", "no such kind", "inactive"])
def test_a_wrong_address_is_none(world: World, stranger: Client, wrong: str) -> None:
    person = world.member.person
    right = stop_path(person.pk, "due")
    _, _, _, _, code = right.split("/")
    path = {
        "code": f"{right[:-1]}{'a' if right[-1] != 'a' else 'b'}",
        "kind": f"/u/{person.pk}/week/{code}",
        "person": f"/u/{PersonFactory().pk}/due/{code}",
        "nobody": f"/u/99999999999999999999/due/{code}",
        "no such kind": f"/u/{person.pk}/weather/{code}",
        "inactive": right,
    }[wrong]
    if wrong == "inactive":
        Person.objects.update(is_active=False)
    for answer in (stranger.get(path), stranger.post(path, ONE_CLICK, content_type=FORM)):
        assert answer.status_code == 404
    assert not MessageChoice.objects.exists()


def test_the_address_outlives_a_change_of_the_key(
    world: World, stranger: Client, settings: object
) -> None:
    path = stop_path(world.member.person_id, "due")
    old = settings.SECRET_KEY  # type: ignore[attr-defined]
    settings.SECRET_KEY = "another-key"  # type: ignore[attr-defined]
    assert stranger.get(path).status_code == 404
    settings.SECRET_KEY_FALLBACKS = [old]  # type: ignore[attr-defined]
    assert stranger.get(path).status_code == 200
    assert stop_path(world.member.person_id, "due") != path


def test_every_address_is_that_of_the_page() -> None:
    for kind in Message.Kind:
        found = resolve(stop_path(7, kind))
        assert (found.url_name, found.kwargs["person"], found.kwargs["kind"]) == (
            "unsubscribe",
            7,
            kind,
        )


def test_who_is_signed_in_sees_the_same(world: World, as_person: Callable[..., Client]) -> None:
    path = stop_path(world.member.person_id, "due")
    answer = as_person(world.owner).get(path)
    assert "Stop these e-mails?" in answer.content.decode()
