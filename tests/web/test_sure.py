"""Pages that ask again who is there: a password or a mailed link, good for a quarter of an hour."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from lifecycle.models import Letter, Person
from lifecycle.records.people.letters import link_path
from lifecycle.reminders.people.letters import send_letters
from lifecycle.web.people.sign_in_link import PER_ADDRESS
from lifecycle.web.people.sure import LASTS, is_sure, is_sure_by_link, now_sure, sure
from tests.conftest import World
from tests.factories import NOON, PASSWORD, PersonFactory

SignIn = Callable[..., Client]
SECOND = timedelta(seconds=1)
BACK = "/g/northfield/people?role=owner"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def a_request(session: dict[str, object], method: str = "GET") -> HttpRequest:
    request = RequestFactory().generic(method, BACK)
    request.session = session
    return request


@sure
def guarded(request: HttpRequest) -> HttpResponse:
    return HttpResponse("inside")


@pytest.mark.parametrize("method", ["GET", "POST", "HEAD"])
def test_a_guarded_page_asks_first_and_says_where_to_go_on(noon: None, method: str) -> None:
    answer = guarded(a_request({}, method))
    assert answer.status_code == 302
    assert answer["Location"] == "/sign-in/again?next=%2Fg%2Fnorthfield%2Fpeople%3Frole%3Downer"


def test_it_holds_for_a_quarter_of_an_hour(noon: None) -> None:
    request = a_request({})
    now_sure(request, NOON)
    assert guarded(request).content == b"inside"
    assert is_sure(request, NOON + LASTS)
    assert not is_sure(request, NOON + LASTS + SECOND)
    # A clock that was set back makes nobody sure for longer.
    assert not is_sure(request, NOON - SECOND)


@pytest.mark.parametrize("kept", ["", "soon", None, [], {}, "9" * 400])
def test_anything_odd_in_a_session_makes_nobody_sure(noon: None, kept: object) -> None:
    assert not is_sure(a_request({"sure_at": kept}), NOON)


def test_a_link_is_told_from_a_password(noon: None) -> None:
    request = a_request({})
    now_sure(request, NOON, by="link")
    assert is_sure_by_link(request, NOON)
    now_sure(request, NOON)
    assert not is_sure_by_link(request, NOON)


def test_signing_in_has_just_shown_it(world: World) -> None:
    client = Client()
    data = {"username": "member@garden.example", "password": PASSWORD}
    client.post("/sign-in", data)
    assert client.session["sure_at"] == NOON.timestamp()


def test_the_password_leads_on(client: Client) -> None:
    text = client.get("/sign-in/again", {"next": BACK}).content.decode()
    assert "<h1>Is it you?</h1>" in text
    assert f'name="next" value="{BACK}"' in text
    assert 'autocomplete="current-password"' in text
    key = client.cookies["sessionid"].value
    answer = client.post("/sign-in/again", {"password": PASSWORD, "next": BACK})
    assert answer["Location"] == BACK
    assert client.session["sure_at"] == NOON.timestamp()
    assert client.cookies["sessionid"].value != key


def test_a_wrong_password_does_not(client: Client) -> None:
    for wrong in ("wrong", "", "x" * 9_000, "\x00"):
        answer = client.post("/sign-in/again", {"password": wrong, "next": BACK})
        text = answer.content.decode()
        assert answer.status_code == 422
        assert f'name="next" value="{BACK}"' in text
        assert "sure_at" not in client.session


def test_somebody_elses_password_does_not_either(client: Client, world: World) -> None:
    world.owner.person.set_password("of the owner alone")
    world.owner.person.save()
    data = {"password": "of the owner alone", "username": "owner@garden.example"}
    assert client.post("/sign-in/again", data).status_code == 422


def test_a_mailed_link_does_as_well_and_leads_on(client: Client, world: World) -> None:
    text = client.post("/sign-in/again", {"act": "link", "next": BACK}).content.decode()
    assert "A link is on its way to member@garden.example." in text
    send_letters(now=NOON)
    assert mail.outbox[0].to == ["member@garden.example"]
    answer = client.post(link_path(Letter.objects.get()))
    assert answer["Location"] == BACK
    assert client.session["sure_at"] == NOON.timestamp()
    assert client.session["sure_by"] == "link"


def test_links_are_mailed_only_so_often(client: Client) -> None:
    for _ in range(PER_ADDRESS + 2):
        assert client.post("/sign-in/again", {"act": "link"}).status_code == 200
    assert Letter.objects.count() == PER_ADDRESS


def test_who_has_no_password_is_asked_for_none(as_person: SignIn, world: World) -> None:
    client = as_person(PersonFactory(password=None))
    text = client.get("/sign-in/again").content.decode()
    assert 'type="password"' not in text
    assert 'value="link"' in text
    assert client.post("/sign-in/again", {"password": "!"}).status_code == 200
    assert "sure_at" not in client.session


def test_strangers_are_not_asked_but_sent_to_sign_in(world: World) -> None:
    assert Client().get("/sign-in/again")["Location"].startswith("/sign-in?next=")
    assert Client().post("/sign-in/again", {"act": "link"}).status_code == 302
    assert not Letter.objects.exists()


def test_it_ends_with_the_session_it_was_shown_in(client: Client, world: World) -> None:
    client.post("/sign-in/again", {"password": PASSWORD})
    client.post("/sign-out")
    client.force_login(Person.objects.get(pk=world.member.person_id))
    assert "sure_at" not in client.session


def test_an_own_phone_stays_an_own_phone(world: World) -> None:
    client = Client()
    data = {"username": "member@garden.example", "password": PASSWORD, "own_device": "on"}
    client.post("/sign-in", data)
    with time_machine.travel(NOON + timedelta(days=30), tick=False):
        client.post("/sign-in/again", {"password": PASSWORD})
        assert client.session.get_expiry_age() == 90 * 86_400
