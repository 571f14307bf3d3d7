"""My settings, the inbox, More, and the pages of errors."""

import re
from collections.abc import Callable
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lifecycle.models import Message, MessageChoice, Person, PushSubscription
from lifecycle.records.messages.message_choices import choices_of, choose
from lifecycle.web.words import amount
from tests.conftest import World
from tests.factories import MembershipFactory
from tests.web.pages import a_message

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


GIVEN = {
    "name": "Name",
    "temperature": "C",
    "length": "cm",
    "phone": "",
    "digest_day": "6",
    "digest_hour": "18",
}


def test_settings_are_kept_and_said(client: Client, world: World) -> None:
    before = client.get("/settings").content.decode()
    assert "By e-mail you get the week ahead on Sunday at 18:00, one message in the" in before
    data = {
        **{"name": "New name", "temperature": "F", "length": "in", "phone": "+44 1632 960961"},
        **{"digest_day": "2", "digest_hour": "9", "week_email": "on", "frost_push": "on"},
    }
    text = client.post("/settings", data, follow=True).content.decode()
    assert "Your settings are saved." in text
    assert "By e-mail you get the week ahead on Wednesday at 09:00. You get no push" in text
    person = Person.objects.get(pk=world.member.person_id)
    assert (person.name, person.temperature, person.length) == ("New name", "F", "in")
    assert (person.phone, person.digest_day, person.digest_hour) == ("+44 1632 960961", 2, 9)
    wanted = choices_of(person)
    assert [kind for kind in wanted if wanted[kind]["email"]] == ["week", "lead"]
    assert [kind for kind in wanted if wanted[kind]["push"]] == ["frost"]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        *(("name", wrong) for wrong in ("", "x" * 10_000, "\x00")),
        *(("temperature", wrong) for wrong in ("K", "")),
        *(("length", wrong) for wrong in ("m", "")),
        *(("phone", wrong) for wrong in ("call me", "1", "1" * 500, "\x00")),
        *(("digest_day", wrong) for wrong in ("7", "-1", "", "Monday", "9" * 400)),
        *(("digest_hour", wrong) for wrong in ("6", "21", "", "x")),
    ],
)
def test_settings_refuse_with_a_sentence(
    client: Client, world: World, field: str, value: str
) -> None:
    answer = client.post("/settings", {**GIVEN, "due_push": "on", field: value})
    assert answer.status_code == 422
    assert "There is a problem" in answer.content.decode()
    assert f'id="id_{field}_error"' in answer.content.decode() or field != "phone"
    assert Person.objects.get(pk=world.member.person_id).name == "Member"
    assert not MessageChoice.objects.exists()


def test_every_box_says_by_itself_what_it_is_for(client: Client) -> None:
    text = client.get("/settings").content.decode()
    labels = re.findall(r'<label for="id_\w+_(?:email|push)">.*?</label>', text)
    said = [unescape(re.sub(r"<[^>]+>", "", label)).strip() for label in labels]
    assert len(said) == len(set(said)) == 8
    assert "Push\N{NO-BREAK SPACE}message: The week ahead" in said
    assert "E\N{NON-BREAKING HYPHEN}mail: Frost nights: asks, changes, uncovering" in said


@pytest.mark.parametrize("role", ["owner", "coordinator", "member", "committee"])
def test_what_is_for_coordinators_is_offered_to_them_alone(
    world: World, as_person: SignIn, role: str
) -> None:
    leads = role in ("owner", "coordinator")
    member = getattr(world, role)
    client = as_person(member)
    text = client.get("/settings").content.decode()
    assert ("For coordinators: gaps and failures" in text) is leads
    assert ("notices of gaps and failures" in text) is leads
    client.post("/settings", {**GIVEN, "lead_push": "on"})
    assert choices_of(member.person)["lead"]["push"] is leads


def test_push_messages_are_promised_only_where_a_device_shows_them(
    client: Client, world: World
) -> None:
    assert "A push message needs a device" in client.get("/settings").content.decode()
    PushSubscription.objects.create(
        person=world.member.person, endpoint="https://push.example/1", made_at=timezone.now()
    )
    text = client.get("/settings").content.decode()
    assert "By push message you get frost messages at any time before 21:00." in text
    assert "A push message needs a device" not in text


def test_settings_cost_the_same_with_much_chosen(client: Client, world: World) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            client.get("/settings")
        return len(found)

    few = queries()
    for kind in ("frost", "due", "week", "handed"):
        for channel in ("email", "push"):
            choose(world.member.person, kind, channel, wanted=True)
    for number in range(5):
        MembershipFactory(person=world.member.person, garden__slug=f"other-{number}")
    assert queries() == few


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

    monkeypatch.setattr("lifecycle.web.people.settings.set_preferences", fail)
    client.raise_request_exception = False
    answer = client.post("/settings", GIVEN)
    assert answer.status_code == 500
    assert "The fault is ours" in answer.content.decode()


@pytest.mark.parametrize(
    ("grams", "shown"), [(10, "0.4 oz"), (28.349523125, "1 oz"), (49_000, "1728.4 oz")]
)
def test_weights_in_ounces_are_written_in_plain_figures(grams: float, shown: str) -> None:
    person = Person(length=Person.Length.INCHES)
    assert amount(grams, "g", person) == shown
