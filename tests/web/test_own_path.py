"""Where signing in leads on to: paths of this site, whatever the address or the form says."""

from collections.abc import Callable

import pytest
from django.core import mail
from django.test import Client

from lifecycle.models import Letter
from lifecycle.records.people.letters import link_path
from lifecycle.reminders.people.letters import send_letters
from lifecycle.web.people.own_path import own_path
from tests.conftest import World
from tests.factories import NOON, PASSWORD

SignIn = Callable[..., Client]
ELSEWHERE = [
    "//evil.example",
    "///evil.example",
    "https:evil.example",
    "https:/evil.example",
    "https://evil.example/",
    "HTTPS://evil.example/",
    "http://testserver.evil.example/",
    "http://testserver/settings",
    "\\\\evil.example",
    "/\\evil.example",
    "\\/evil.example",
    "/ok\\..\\evil",
    "javascript:alert(1)",
    "data:text/html,x",
    "settings",
    "evil.example",
    " /settings",
    "/settings\r\nLocation: https://evil.example",
    "/settings%0d\r\n",
    "/\t/evil.example",
    "\x08//evil.example",
    "/settings\x00",
    "/x" * 2000,
    "/sign-in",
    "/sign-out",
    "",
]


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_nothing_leads_elsewhere(wanted: str) -> None:
    assert own_path(wanted) == ""


@pytest.mark.parametrize("wanted", [None, 7, ["/settings"], {"next": "/"}])
def test_what_is_no_text_leads_nowhere(wanted: object) -> None:
    assert own_path(wanted) == ""


@pytest.mark.parametrize(
    "wanted", ["/", "/settings", "/g/northfield/plants?bed=3&whose=1#top", "/g/a:b/c", "/p/ABC234"]
)
def test_own_pages_are_led_to(wanted: str) -> None:
    assert own_path(wanted) == wanted


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_signing_in_stays_here(world: World, wanted: str) -> None:
    data = {"username": "member@garden.example", "password": PASSWORD, "next": wanted}
    client = Client()
    shown = client.get("/sign-in", {"next": wanted}).content.decode()
    assert 'name="next"' not in shown
    assert client.post("/sign-in", data)["Location"] == "/"
    # Signed in already, one is led on at once.
    assert client.get("/sign-in", {"next": wanted})["Location"] == "/"


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_a_mailed_link_stays_here(world: World, wanted: str) -> None:
    client = Client()
    shown = client.get("/sign-in/link", {"next": wanted}).content.decode()
    assert 'name="next"' not in shown
    client.post("/sign-in/link", {"email": "member@garden.example", "next": wanted})
    letter = Letter.objects.get()
    assert letter.data == {}
    # Not even a row that says otherwise leads elsewhere.
    Letter.objects.update(data={"next": wanted.replace("\x00", "")})
    assert client.post(link_path(letter))["Location"] in ("/", "/settings")


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_being_asked_again_stays_here(world: World, as_person: SignIn, wanted: str) -> None:
    client = as_person(world.member)
    shown = client.get("/sign-in/again", {"next": wanted}).content.decode()
    assert 'name="next"' not in shown
    answer = client.post("/sign-in/again", {"password": PASSWORD, "next": wanted})
    assert answer["Location"] == "/"
    client.post("/sign-in/again", {"act": "link", "next": wanted})
    assert Letter.objects.get().data == {}


def test_where_one_wanted_to_go_is_carried_all_the_way(world: World) -> None:
    client = Client()
    wanted = client.get(f"{world.address}plants?whose=1")["Location"]
    page = client.get(wanted).content.decode()
    assert 'href="/sign-in/link?next=/g/northfield/plants%3Fwhose%3D1"' in page
    back = "/g/northfield/plants?whose=1"
    client.post("/sign-in/link", {"email": "member@garden.example", "next": back})
    send_letters(now=NOON)
    assert link_path(Letter.objects.get()) in mail.outbox[0].body
    assert client.post(link_path(Letter.objects.get()))["Location"] == back
