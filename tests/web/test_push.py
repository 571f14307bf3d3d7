"""Messages on a device: the page that asks, the devices in My settings, worker and manifest."""

import json
import re
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client

from garden_site.secret_key import push_key
from lifecycle.checks import push_key_fits
from lifecycle.models import Garden, PushSubscription
from lifecycle.reminders.messages.push import public_key
from lifecycle.web.messages.push import part
from tests.conftest import World
from tests.reminders.push_service import Browser

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]
HERE = "https://push.example/send/abc"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def given(**more: str) -> dict[str, str]:
    browser = Browser()
    return {
        "endpoint": HERE,
        "p256dh": browser.p256dh,
        "auth": browser.auth,
        "device": "Tablet",
        **more,
    }


def test_the_page_asks_nothing_by_itself(client: Client) -> None:
    answer = client.get("/settings/push")
    text = answer.content.decode()
    assert f'data-key="{public_key()}"' in text
    assert re.search(r'<form id="push"[^>]* hidden ', text)
    assert "<noscript><p>This needs a script" in text
    assert re.findall(r"<script[^>]*>", text) == ['<script src="/static/lifecycle/push.js" defer>']


def test_the_page_says_that_a_garden_is_invented(client: Client, world: World) -> None:
    words = "Invented demonstration garden"
    assert words not in client.get("/settings/push").content.decode()
    Garden.objects.filter(pk=world.garden.pk).update(invented=True)
    assert words in client.get("/settings/push").content.decode()


def test_policy_lets_in_the_sites_own_script_and_nothing_else(client: Client) -> None:
    policy = client.get("/settings/push")["Content-Security-Policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    nonce = rules.pop("style-src")
    assert re.fullmatch(r"'self' 'nonce-[^']+'", nonce)
    assert rules == {
        "default-src": "'none'",
        "script-src": "'self'",
        "worker-src": "'self'",
        "manifest-src": "'self'",
        "img-src": "'self'",
        "font-src": "'self'",
        "connect-src": "'self'",
        "form-action": "'self'",
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
    }


def test_what_the_browser_gave_is_kept(client: Client, world: World) -> None:
    answer = client.post("/settings/push", given())
    assert answer["Location"] == "/settings#push"
    kept = PushSubscription.objects.get()
    assert (kept.person, kept.endpoint, kept.device) == (world.member.person, HERE, "Tablet")
    assert f'data-known="{HERE}"' in client.get("/settings/push").content.decode()


@pytest.mark.parametrize(
    "wrong",
    [{"endpoint": "https://10.0.0.1/"}, {"p256dh": "x"}, {"auth": ""}, {"endpoint": "\x00"}],
)
def test_anything_else_is_refused_with_a_sentence(client: Client, wrong: dict[str, str]) -> None:
    answer = client.post("/settings/push", given(**wrong))
    assert answer.status_code == 422
    assert "no usable address for messages" in answer.content.decode()
    assert client.post("/settings/push").status_code == 422
    assert not PushSubscription.objects.exists()


def test_devices_are_listed_and_stopped_by_their_person_only(
    client: Client, world: World, as_person: SignIn
) -> None:
    client.post("/settings/push", given())
    [device] = part(world.member.person)["devices"]
    assert part(world.owner.person) == {"devices": []}
    shown = render_to_string("lifecycle/push_part.html", {"push": part(world.member.person)})
    assert "Tablet" in shown
    assert "allowed on 14 October 2026" in shown
    assert HERE not in shown
    for number in (str(device.pk), "", "x", "9" * 30, "-1", "²"):
        answer = as_person(world.owner).post("/settings/push/stop", {"device": number})
        assert answer["Location"] == "/settings#push"
    assert PushSubscription.objects.exists()
    client.post("/settings/push/stop", {"device": device.pk})
    assert not PushSubscription.objects.exists()
    shown = render_to_string("lifecycle/push_part.html", {"push": part(world.member.person)})
    assert "No device shows your messages." in shown


def test_signed_out_nothing_is_kept_or_stopped(client: Client) -> None:
    client.post("/settings/push", given())
    for path in ("/settings/push", "/settings/push/stop"):
        answer = Client().post(path, given(endpoint=f"{HERE}2"))
        assert answer["Location"].startswith("/sign-in?next=")
    assert PushSubscription.objects.count() == 1
    assert client.get("/settings/push/stop").status_code == 405


def test_the_worker_stands_at_the_root_for_everybody(world: World) -> None:
    answer = Client().get("/push-worker.js")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/javascript"
    assert answer["Service-Worker-Allowed"] == "/"
    assert "no-store" in answer["Cache-Control"]
    assert b"showNotification" in answer.content
    # It only shows messages: it stands between no page and the site.
    assert b'"fetch"' not in answer.content


def test_the_manifest_lets_a_phone_keep_the_site(world: World) -> None:
    answer = Client().get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    found = json.loads(answer.content)
    assert (found["start_url"], found["scope"], found["display"]) == ("/", "/", "standalone")
    assert found["name"] == "Garden record"
    for icon in found["icons"]:
        name = icon["src"].rpartition("/")[2]
        image = files("lifecycle").joinpath("static", "lifecycle", name).read_bytes()
        assert image[:8] == b"\x89PNG\r\n\x1a\n"
        width, height = (int.from_bytes(image[at : at + 4], "big") for at in (16, 20))
        assert icon["sizes"] == f"{width}x{height}"
    assert {icon["sizes"] for icon in found["icons"]} >= {"192x192", "512x512"}
    assert b'rel="manifest" href="/manifest.webmanifest"' in Client().get("/sign-in").content


def test_the_script_is_small() -> None:
    script = files("lifecycle").joinpath("static", "lifecycle", "push.js").read_bytes()
    assert len(script) <= 3000


def test_push_key_follows_from_the_signing_key() -> None:
    first, again, other = push_key("one"), push_key("one"), push_key("two")
    assert first == again != other
    assert re.fullmatch(r"[A-Za-z0-9_-]{43}", first)


@pytest.mark.parametrize(
    ("key", "fits"), [(push_key("one"), True), ("", False), ("*" * 43, False), ("A" * 42, False)]
)
def test_a_wrong_push_key_is_found_at_the_start(settings: Any, key: str, fits: bool) -> None:
    settings.VAPID_PRIVATE_KEY = key
    assert [found.id for found in push_key_fits()] == ([] if fits else ["lifecycle.E003"])
