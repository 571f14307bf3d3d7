"""Push messages to a service on this machine: what it gets, and what its answers lead to."""

import json
import re
import socket
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import http_ece
import httpx
import pytest
from django.test import override_settings
from py_vapid import Vapid02

from lifecycle.models import Message, PushSubscription
from lifecycle.reminders.messages import push
from lifecycle.reminders.messages.transports import TransportError
from tests.conftest import World
from tests.factories import NOON
from tests.reminders.push_service import Browser, Service, a_push, push_service
from tests.reminders.push_tokens import claims_of

pytestmark = pytest.mark.django_db
URL = "http://127.0.0.1:8000/g/northfield/frost/7"


@pytest.fixture
def service(settings: Any) -> Iterator[Service]:
    settings.PUSH_PRIVATE_ENDPOINTS = True
    with push_service() as running:
        yield running


def refused(message: Message) -> TransportError:
    with pytest.raises(TransportError) as caught:
        push.send(message, "Cover.", URL)
    return caught.value


def test_only_the_browser_can_read_what_the_service_gets(world: World, service: Service) -> None:
    browser, other = Browser(), Browser()
    kept = browser.allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member), "Cover beds 1 to 4 by 17:30: −2 °C.", URL)
    [(path, _, body)] = service.got
    assert path == "/201/a"
    assert json.loads(browser.opened(body)) == {
        "title": "Northfield",
        "body": "Cover beds 1 to 4 by 17:30: −2 °C.",
        "url": URL,
        "tag": push.topic_of(Message(key="frost:7:push")),
    }
    assert b"Northfield" not in body
    with pytest.raises(http_ece.ECEException):
        other.opened(body)
    kept.refresh_from_db()
    assert kept.worked_at == NOON


def test_every_message_is_sealed_anew(world: World, service: Service) -> None:
    browser = Browser()
    browser.allow(world.member, f"{service.url}/201/a")
    message = a_push(world.member)
    push.send(message, "Cover.", URL)
    push.send(message, "Cover.", URL)
    [(_, _, first), (_, _, second)] = service.got
    # Salt and sender's key are both new (RFC 8291, 3.1; RFC 8188, 2.1).
    assert first[:16] != second[:16]
    assert first[21:86] != second[21:86]
    assert browser.opened(first) == browser.opened(second)


def test_headers_say_how_long_how_urgent_and_what_it_replaces(
    world: World, service: Service
) -> None:
    Browser().allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member), "Cover.", URL)
    [(_, headers, body)] = service.got
    assert headers["TTL"] == str(6 * 3600)
    assert headers["Urgency"] == "normal"
    assert headers["Content-Encoding"] == "aes128gcm"
    assert headers["Content-Type"] == "application/octet-stream"
    assert len(body) <= 4096  # RFC 8030, 7.2: what every service must take
    assert re.fullmatch(r"[A-Za-z0-9_-]{32}", headers["Topic"])


def test_site_signs_for_this_service_alone(world: World, service: Service) -> None:
    Browser().allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member), "Cover.", URL)
    [(_, headers, _)] = service.got
    given = headers["Authorization"]
    assert Vapid02.verify(given)
    token, key = re.fullmatch(r"vapid t=([^,]+),k=([^,]+)", given).groups()  # type: ignore[union-attr]
    assert key == push.public_key()
    head, claims = claims_of(token, key)
    assert head == {"typ": "JWT", "alg": "ES256"}
    assert claims == {
        "aud": service.url,
        "sub": "mailto:garden@127.0.0.1",
        "exp": int((NOON + timedelta(hours=12)).timestamp()),
    }


@pytest.mark.parametrize(
    ("level", "urgency"),
    [("note", "very-low"), ("due", "low"), ("act_today", "normal"), ("act_now", "high")],
)
def test_urgency_follows_the_level(
    world: World, service: Service, level: str, urgency: str
) -> None:
    Browser().allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member, level=level), "Cover.", URL)
    assert service.got[0][1]["Urgency"] == urgency


@pytest.mark.parametrize(
    ("left", "seconds"),
    [
        (timedelta(seconds=-5), 60),
        (timedelta(seconds=59), 60),
        (timedelta(seconds=61), 61),
        (timedelta(days=28), 2_419_200),
        (timedelta(days=40), 2_419_200),
    ],
)
def test_it_is_kept_no_longer_than_it_is_true(
    world: World, service: Service, left: timedelta, seconds: int
) -> None:
    Browser().allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member, expires_at=NOON + left), "Cover.", URL)
    assert service.got[0][1]["TTL"] == str(seconds)


def test_same_message_has_the_same_topic_and_another_has_another() -> None:
    first, again, other = (push.topic_of(Message(key=key)) for key in ("a", "a", "b"))
    assert first == again != other


@pytest.mark.parametrize(
    ("status", "permanent", "kept"),
    [
        (404, True, False),
        (410, True, False),
        (400, True, True),
        (403, True, True),
        (413, True, True),
        (307, True, True),
        (408, False, True),
        (429, False, True),
        (500, False, True),
        (503, False, True),
    ],
)
def test_answers_that_are_no_success(
    world: World, service: Service, status: int, permanent: bool, kept: bool
) -> None:
    Browser().allow(world.member, f"{service.url}/{status}/a")
    problem = refused(a_push(world.member))
    assert problem.permanent is permanent
    assert PushSubscription.objects.exists() is kept
    assert len(service.got) == 1  # nothing is followed elsewhere
    assert ("no longer knows" if not kept else f"answered {status}") in str(problem)
    # The address is a secret between browser and service.
    assert "/a" not in str(problem).replace("http://127", "")


@pytest.mark.parametrize("status", [200, 201, 202])
def test_answers_that_are_a_success(world: World, service: Service, status: int) -> None:
    kept = Browser().allow(world.member, f"{service.url}/{status}/a")
    push.send(a_push(world.member), "Cover.", URL)
    kept.refresh_from_db()
    assert kept.worked_at == NOON


def test_slow_and_silent_services_are_tried_again(
    world: World, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(push, "TIMEOUT", httpx.Timeout(0.1))
    kept = Browser().allow(world.member, f"{service.url}/slow/a")
    problem = refused(a_push(world.member))
    assert (problem.permanent, str(problem)[-11:]) == (False, "ReadTimeout")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        kept.endpoint = f"http://127.0.0.1:{free.getsockname()[1]}/a"
    kept.save()
    problem = refused(Message.objects.get())
    assert (problem.permanent, str(problem)[-12:]) == (False, "ConnectError")


def test_one_device_that_took_it_is_enough(world: World, service: Service) -> None:
    for path in ("410/a", "201/b", "500/c"):
        Browser().allow(world.member, f"{service.url}/{path}")
    push.send(a_push(world.member), "Cover.", URL)
    left = PushSubscription.objects.order_by("pk").values_list("endpoint", flat=True)
    assert [endpoint.rsplit("/", 1)[1] for endpoint in left] == ["b", "c"]


def test_of_several_failures_one_worth_trying_again_decides(world: World, service: Service) -> None:
    for path in ("410/a", "503/b", "413/c"):
        Browser().allow(world.member, f"{service.url}/{path}")
    problem = refused(a_push(world.member))
    assert not problem.permanent
    assert "503" in str(problem)


def test_without_a_device_nothing_can_go_out(world: World, service: Service) -> None:
    Browser().allow(world.owner, f"{service.url}/201/a")
    problem = refused(a_push(world.member))
    assert problem.permanent
    assert service.got == []


def leads_to(*addresses: str) -> Callable[..., list]:
    def found(host: str, port: int, **_: object) -> list:
        assert (host, port) == ("push.example", 443)
        return [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (text, port)) for text in addresses]

    return found


@pytest.mark.parametrize(
    "addresses",
    [
        ["127.0.0.1"],
        ["10.1.2.3"],
        ["169.254.169.254"],
        ["192.168.0.4"],
        ["::1"],
        ["fe80::1%eth0"],
        ["::ffff:10.0.0.1"],
        ["224.0.0.1"],
        ["93.184.216.34", "10.0.0.1"],
    ],
)
def test_a_name_that_leads_inside_gets_nothing(
    world: World, monkeypatch: pytest.MonkeyPatch, addresses: list[str]
) -> None:
    Browser().allow(world.member, "https://push.example/a")
    monkeypatch.setattr(socket, "getaddrinfo", leads_to(*addresses))
    monkeypatch.setattr(httpx.Client, "post", lambda *_, **__: pytest.fail("It was sent."))
    problem = refused(a_push(world.member))
    assert problem.permanent
    assert str(problem) == "https://push.example leads into a private network."


def test_a_name_that_leads_outside_is_asked(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    Browser().allow(world.member, "https://push.example/a")
    monkeypatch.setattr(socket, "getaddrinfo", leads_to("93.184.216.34", "2606:2800:220:1::1"))
    asked: list[str] = []

    async def taken(endpoint: str, *_: object) -> int:
        asked.append(endpoint)
        return 201

    monkeypatch.setattr(push, "_status_of", taken)
    push.send(a_push(world.member), "Cover.", URL)
    assert asked == ["https://push.example/a"]


@pytest.mark.parametrize("name", ["a..b", "xn--.b", ".a", "a" * 64 + ".b"])
def test_a_name_that_is_none_harms_no_other_device(
    world: World, service: Service, name: str
) -> None:
    """Kept in other days: the door refuses such names now."""
    Browser().allow(world.member, f"https://{name}/x")
    Browser().allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member), "Cover.", URL)
    assert [path for path, *_ in service.got] == ["/201/a"]


def test_a_service_that_never_ends_its_answer_holds_nobody_up(
    world: World, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(push, "WHOLE_SECONDS", 0.5)
    Browser().allow(world.member, f"{service.url}/drip/a")
    began = time.monotonic()
    problem = refused(a_push(world.member))
    assert (problem.permanent, str(problem)[-12:]) == (False, "TimeoutError")
    # The service would have gone on for ten seconds.
    assert time.monotonic() - began < 5


def test_a_name_nobody_knows_is_tried_again(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(*_: object, **__: object) -> list:
        raise socket.gaierror("no such name")

    Browser().allow(world.member, "https://push.example/a")
    monkeypatch.setattr(socket, "getaddrinfo", lost)
    problem = refused(a_push(world.member))
    assert (problem.permanent, str(problem)) == (False, "https://push.example was not found.")


def test_an_address_kept_in_other_days_is_looked_at_again(world: World, service: Service) -> None:
    """A plain address, kept while a test allowed it, is no push service's afterwards."""
    Browser().allow(world.member, f"{service.url}/201/a")
    with override_settings(PUSH_PRIVATE_ENDPOINTS=False):
        problem = refused(a_push(world.member))
    assert problem.permanent
    assert service.got == []


def test_where_a_browser_is_reached_is_not_written_down(
    world: World, service: Service, caplog: pytest.LogCaptureFixture
) -> None:
    Browser().allow(world.member, f"{service.url}/201/secret-of-the-browser")
    push.send(a_push(world.member), "Cover.", URL)
    assert "secret-of-the-browser" not in caplog.text


@pytest.mark.parametrize(
    ("address", "public"),
    [
        ("93.184.216.34", True),
        ("2606:2800:220:1::1", True),
        ("10.0.0.1", False),
        ("172.16.0.1", False),
        ("100.64.0.1", False),
        ("0.0.0.0", False),
        ("fd00::1", False),
        ("::ffff:127.0.0.1", False),
        ("::ffff:93.184.216.34", True),
        ("ff02::1", False),
        ("224.0.0.1", False),
    ],
)
def test_what_is_public(address: str, public: bool) -> None:
    assert push.is_public(address) is public


def test_contact_is_the_address_alone(world: World, service: Service, settings: Any) -> None:
    settings.DEFAULT_FROM_EMAIL = "The garden <garden@mailhost>"
    Browser().allow(world.member, f"{service.url}/201/a")
    push.send(a_push(world.member), "Cover.", URL)
    token = service.got[0][1]["Authorization"].removeprefix("vapid t=").partition(",")[0]
    assert claims_of(token, push.public_key())[1]["sub"] == "mailto:garden@mailhost"
