"""No page leads to another site, whatever the address or a form says."""

from collections.abc import Callable
from urllib.parse import urlsplit

import pytest
from django.test import Client

from lifecycle.models import Letter
from lifecycle.records.people.letters import link_path
from tests.conftest import World
from tests.factories import PASSWORD
from tests.web.crawl_fixture import Desk, desk, gardens
from tests.web.crawl_forms import shown_forms

__all__ = ["desk", "gardens"]
ELSEWHERE = (
    "https://elsewhere.example/",
    "//elsewhere.example/",
    "///elsewhere.example/",
    "https:elsewhere.example",
    "https:///elsewhere.example",
    "/\\elsewhere.example",
    "\\\\elsewhere.example",
    "/\t/elsewhere.example",
    "/\n/elsewhere.example",
    "/%09/elsewhere.example",
    " //elsewhere.example",
    "javascript:alert(1)",
    "data:text/html,x",
    "http://testserver@elsewhere.example/",
    "//testserver.elsewhere.example/",
    "@elsewhere.example",
)
WAYS = {"next", "back", "from", "return", "url", "to_url", "then", "redirect"}
"""Names under which pages are told where to lead on to."""


def stays_here(address: str) -> bool:
    read = address.replace("\t", "").replace("\n", "").replace("\\", "/")
    return not urlsplit(read).scheme and read.startswith("/") and not read.startswith("//")


def test_what_leads_elsewhere_is_known_when_it_is_seen() -> None:
    leads_on = {address for address in ELSEWHERE if not stays_here(address)}
    assert set(ELSEWHERE) - leads_on == {"/%09/elsewhere.example"}


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_signing_in_leads_to_this_site_only(world: World, wanted: str) -> None:
    given = {"username": world.member.person.email, "password": PASSWORD, "next": wanted}
    answer = Client().post("/sign-in", given)
    assert stays_here(answer["Location"])
    assert stays_here(Client().post(f"/sign-in?next={wanted}", given)["Location"])


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_showing_again_who_is_there_leads_to_this_site_only(
    world: World, as_person: Callable[..., Client], wanted: str
) -> None:
    client = as_person(world.member)
    answer = client.post("/sign-in/again", {"password": PASSWORD, "next": wanted})
    assert answer.status_code == 302
    assert stays_here(answer["Location"])


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_a_mailed_link_leads_to_this_site_only(world: World, wanted: str) -> None:
    client = Client()
    client.post("/sign-in/link", {"email": world.member.person.email, "next": wanted})
    letter = Letter.objects.get()
    answer = client.post(link_path(letter))
    assert answer.status_code == 302
    assert stays_here(answer["Location"])


@pytest.mark.parametrize("wanted", ELSEWHERE)
def test_somebody_signed_in_is_led_to_this_site_only(
    world: World, as_person: Callable[..., Client], wanted: str
) -> None:
    client = as_person(world.member)
    for path in ("/sign-in", "/sign-in/again", "/sign-in/link"):
        answer = client.get(path, {"next": wanted})
        assert answer.status_code == 200 or stays_here(answer["Location"])
        assert b'href="https://elsewhere' not in answer.content
        assert b'href="//elsewhere' not in answer.content


@pytest.mark.django_db
def test_no_form_leads_elsewhere(desk: Desk) -> None:
    """Every form, with every name a way on might have, whether or not it has such a field."""
    for shown in shown_forms(desk.gardens, ("owner", "holder")):
        form = shown.form
        ways = WAYS - ({form.button[0]} if form.button else set())
        data = form.filled() | {name: [ELSEWHERE[1]] for name in ways}
        answer, _ = desk.send(shown.reader, form.action, data)
        if answer.status in (301, 302, 303, 307, 308):
            assert stays_here(answer.headers["Location"]), str(shown)
        assert 'href="//elsewhere' not in answer.text, str(shown)
