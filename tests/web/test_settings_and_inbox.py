"""My settings, the inbox, More, and the pages of errors."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from lifecycle.models import Message, Person
from lifecycle.web.words import amount
from tests.conftest import World
from tests.web.pages import a_message

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def test_settings_are_kept_and_said(client: Client, world: World) -> None:
    assert "at most one e-mail a day" in client.get("/settings").content.decode()
    data = {"name": "New name", "temperature": "F", "length": "in"}
    text = client.post("/settings", data, follow=True).content.decode()
    assert "Your settings are saved." in text
    assert "You get no e-mail." in text
    person = Person.objects.get(pk=world.member.person_id)
    assert (person.name, person.temperature, person.length) == ("New name", "F", "in")
    assert not person.wants_email


@pytest.mark.parametrize(
    ("field", "value"),
    [("name", ""), ("name", "x" * 10_000), ("name", "\x00"), ("temperature", "K"), ("length", "")],
)
def test_settings_refuse_with_a_sentence(
    client: Client, world: World, field: str, value: str
) -> None:
    data = {"name": "Name", "temperature": "C", "length": "cm", field: value}
    answer = client.post("/settings", data)
    assert answer.status_code == 422
    assert "There is a problem" in answer.content.decode()
    assert Person.objects.get(pk=world.member.person_id).name == "Member"


def test_inbox_shows_own_messages_and_opening_is_reading(client: Client, world: World) -> None:
    assert "No messages yet" in client.get(f"{world.address}inbox").content.decode()
    message = a_message(world)
    assert "not read yet" in client.get(f"{world.address}inbox").content.decode()
    assert "1 message not read yet" in client.get(world.address).content.decode()
    assert "1 not read yet" in client.get(f"{world.address}more").content.decode()
    text = client.get(f"{world.address}inbox/{message.pk}").content.decode()
    assert "Cut back.<br>" in text
    message.refresh_from_db()
    assert message.read_at == timezone.now()
    assert "Everything is read" in client.get(f"{world.address}more").content.decode()
    other = Message.objects.exclude(person=world.member.person).first()
    assert other is not None
    assert client.get(f"{world.address}inbox/{other.pk}").status_code == 404


def test_more_names_whom_to_ask(client: Client, world: World) -> None:
    text = client.get(f"{world.address}more").content.decode()
    assert "Coordinator, coordinator:" in text
    assert "mailto:owner@garden.example" in text
    assert "committee@garden.example" not in text


def test_old_form_is_explained(world: World) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(world.member.person)
    answer = client.post("/settings", {"name": "x"})
    assert answer.status_code == 403
    assert "This form is too old to be sent" in answer.content.decode()


def test_error_pages_say_what_to_do(client: Client, world: World) -> None:
    missing = client.get(f"{world.address}nothing-here")
    assert missing.status_code == 404
    assert "Check the label or the link" in missing.content.decode()
    barred = client.get(f"{world.address}sites/add").content.decode()
    assert "Your role here is member" in barred
    assert 'aria-label="Main"' in barred


def test_page_of_a_fault_stands_alone(
    client: Client, world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("a fault on purpose")

    monkeypatch.setattr("lifecycle.web.settings.set_preferences", fail)
    client.raise_request_exception = False
    data = {"name": "Name", "temperature": "C", "length": "cm"}
    answer = client.post("/settings", data)
    assert answer.status_code == 500
    assert "The fault is ours" in answer.content.decode()


@pytest.mark.parametrize(
    ("grams", "shown"), [(10, "0.4 oz"), (28.349523125, "1 oz"), (49_000, "1728.4 oz")]
)
def test_weights_in_ounces_are_written_in_plain_figures(grams: float, shown: str) -> None:
    person = Person(length=Person.Length.INCHES)
    assert amount(grams, "g", person) == shown
