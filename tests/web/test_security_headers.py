"""What goes with every page: what a browser may load, frame, send on and keep."""

from collections.abc import Callable, Iterator

import pytest
from django.conf import settings
from django.core import mail
from django.test import Client, override_settings

from lifecycle.models import Message
from lifecycle.records.people.letters import ask_for_link
from lifecycle.reminders.ticks import dispatch_tick
from tests.conftest import World
from tests.factories import NOON, PASSWORD
from tests.web.crawl_fixture import gardens
from tests.web.crawl_http import ask, client_of, path_of
from tests.web.crawl_table import GARDEN, OPEN, SECRET, SIGNED_IN, TABLE
from tests.web.crawl_world import Gardens

__all__ = ["gardens"]
STRICT = {
    "default-src": "'none'",
    "script-src": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
    "form-action": "'self'",
}
KEPT_BY_CACHES = {"manifest"}
"""What is the same for everybody."""


def pages(gardens: Gardens, reader: str) -> Iterator[tuple[str, object]]:
    client = client_of(gardens, reader)
    for name, address in TABLE.items():
        if "GET" in address.methods:
            yield name, ask(client, "GET", path_of(name, gardens.own))


@pytest.mark.django_db
@pytest.mark.parametrize("reader", ["anonymous", "outsider", "owner"])
def test_every_answer_says_what_a_browser_may_do_with_it(gardens: Gardens, reader: str) -> None:
    for name, answer in pages(gardens, reader):
        headers = answer.headers  # type: ignore[attr-defined]
        policy = dict(
            part.strip().partition(" ")[::2]
            for part in headers["Content-Security-Policy"].split(";")
        )
        assert {key: policy.get(key) for key in STRICT} == STRICT, name
        assert "unsafe" not in headers["Content-Security-Policy"], name
        assert headers["X-Content-Type-Options"] == "nosniff", name
        assert headers["X-Frame-Options"] == "DENY", name
        assert headers["Referrer-Policy"] in ("same-origin", "no-referrer"), name
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin", name
        assert "Server" not in headers, name
        assert "X-Powered-By" not in headers, name


@pytest.mark.django_db
def test_no_cache_keeps_what_is_somebodys(gardens: Gardens) -> None:
    for name, answer in pages(gardens, "owner"):
        kept = answer.headers.get("Cache-Control", "")  # type: ignore[attr-defined]
        if name in KEPT_BY_CACHES:
            continue
        assert "private" in kept or "no-store" in kept, (name, kept)
        if TABLE[name].kind in (SIGNED_IN, GARDEN):
            assert "no-store" in kept, (name, kept)
    for name, answer in pages(gardens, "anonymous"):
        if TABLE[name].kind == SECRET:
            kept = answer.headers.get("Cache-Control", "")  # type: ignore[attr-defined]
            assert "private" in kept or "no-store" in kept, (name, kept)
    assert {name for name, address in TABLE.items() if address.kind == OPEN} >= KEPT_BY_CACHES


@pytest.mark.django_db
def test_pages_at_secret_addresses_are_listed_nowhere(gardens: Gardens) -> None:
    for name, answer in pages(gardens, "anonymous"):
        if TABLE[name].kind == SECRET:
            headers = answer.headers  # type: ignore[attr-defined]
            assert "noindex" in headers.get("X-Robots-Tag", ""), name
            assert headers["Referrer-Policy"] in ("same-origin", "no-referrer"), name


@override_settings(SESSION_COOKIE_SECURE=True, CSRF_COOKIE_SECURE=True)
def test_cookies_are_for_this_site_alone(world: World) -> None:
    client = Client()
    client.get("/sign-in", secure=True)
    given = {"username": world.member.person.email, "password": PASSWORD}
    client.post("/sign-in", given, secure=True)
    for name in (settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME):
        cookie = client.cookies[name]
        assert cookie["httponly"], name
        assert cookie["secure"], name
        assert cookie["samesite"] == "Lax", name
        assert not cookie["domain"], name


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "testserver.elsewhere.example", "127.0.0.1.elsewhere.example", ""]
)
def test_a_host_that_is_not_ours_is_refused(
    world: World, as_person: Callable[..., Client], host: str
) -> None:
    with override_settings(DEBUG=False, ALLOWED_HOSTS=["127.0.0.1", "localhost"]):
        for client in (Client(), as_person(world.member)):
            answer = client.get("/sign-in", HTTP_HOST=host)
            assert answer.status_code == 400
            assert b"elsewhere" not in answer.content


def test_a_forwarded_host_is_not_believed(world: World) -> None:
    answer = Client().get("/", HTTP_X_FORWARDED_HOST="elsewhere.example")
    assert answer["Location"].startswith("/sign-in")
    assert b"elsewhere" not in answer.content


def test_links_in_letters_lead_to_the_site_whatever_host_was_asked(world: World) -> None:
    """Who asks for a link under another name must not be able to send its reader there."""
    with override_settings(ALLOWED_HOSTS=["*"]):
        Client().post(
            "/sign-in/link", {"email": world.member.person.email}, HTTP_HOST="elsewhere.example"
        )
    dispatch_tick(now=NOON)
    sent = mail.outbox
    assert len(sent) == 1
    whole = f"{sent[0].message()}"
    assert settings.SITE_URL in sent[0].body
    assert "elsewhere" not in whole


def test_mail_takes_its_addresses_from_the_settings(world: World) -> None:
    ask_for_link(world.member.person.email, now=NOON)
    Message.objects.all().delete()
    with override_settings(SITE_URL="https://garden.example"):
        dispatch_tick(now=NOON)
    assert "https://garden.example/sign-in/l/" in mail.outbox[0].body
