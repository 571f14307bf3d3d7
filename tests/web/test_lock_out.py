"""Repeated failures to sign in: a pause for that address from that place, and what is kept."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.conf import settings as site
from django.test import Client

from lifecycle.models import Allowance, Letter
from lifecycle.records.people.sessions import forget_failures, prune
from lifecycle.web.people.lock_out import FAILURES
from tests.conftest import World
from tests.factories import NOON, PASSWORD
from tests.records.threads import all_at_once

SignIn = Callable[..., Client]
EMAIL = "member@garden.example"
LIMIT = 8
PAUSE = timedelta(minutes=15)
SECOND = timedelta(seconds=1)


def attempt(password: str = "wrong", email: str = EMAIL, **head: str) -> Any:
    return Client().post("/sign-in", {"username": email, "password": password}, **head)


def fail(times: int, **head: str) -> list[int]:
    return [attempt(**head).status_code for _ in range(times)]


def test_the_eighth_failure_locks_and_the_right_password_does_not_open(world: World) -> None:
    assert fail(LIMIT) == [422] * (LIMIT - 1) + [429]
    answer = attempt(PASSWORD)
    text = answer.content.decode()
    assert answer.status_code == 429
    assert answer["Retry-After"] == "900"
    assert "no-store" in answer["Cache-Control"]
    assert "<title>Error: too many tries" in text
    assert "For 15 minutes no password is looked at from here" in text
    assert 'href="/sign-in/link"' in text
    assert EMAIL not in text


def test_it_opens_after_a_quarter_of_an_hour_and_trying_on_does_not_prolong_it(
    world: World,
) -> None:
    fail(LIMIT)
    with time_machine.travel(NOON + PAUSE - SECOND, tick=False):
        assert attempt(PASSWORD).status_code == 429
    with time_machine.travel(NOON + PAUSE + SECOND, tick=False):
        assert attempt(PASSWORD)["Location"] == "/"


def test_a_mailed_link_gets_in_at_once(world: World) -> None:
    fail(LIMIT)
    assert Client().post("/sign-in/link", {"email": EMAIL}).status_code == 200
    assert Letter.objects.count() == 1


def test_nobody_else_is_locked_out(world: World) -> None:
    fail(LIMIT)
    assert attempt(PASSWORD, REMOTE_ADDR="192.0.2.7")["Location"] == "/"
    assert attempt(PASSWORD, "owner@garden.example")["Location"] == "/"


def test_signing_in_wipes_the_failures_away(world: World) -> None:
    for _ in range(3):
        assert 429 not in fail(LIMIT - 1)
        assert attempt(PASSWORD)["Location"] == "/"
    assert not AccessAttempt.objects.exists()


def test_another_spelling_or_browser_is_no_fresh_start(world: World) -> None:
    said = [
        attempt(email=email, HTTP_USER_AGENT=f"browser {number}").status_code
        for number, email in enumerate([EMAIL, EMAIL.upper(), f" {EMAIL}", "Member@garden.example"])
        for _ in range(2)
    ]
    assert said == [422] * (LIMIT - 1) + [429]


def test_one_place_that_tries_many_addresses_is_stopped(world: World) -> None:
    said = [attempt(email=f"p{n}@x.example").status_code for n in range(FAILURES + 1)]
    assert said == [422] * FAILURES + [429]
    # Not even with the right password of a garden's member.
    assert attempt(PASSWORD).status_code == 429
    assert attempt(PASSWORD, REMOTE_ADDR="192.0.2.7")["Location"] == "/"
    with time_machine.travel(NOON + timedelta(minutes=1), tick=False):
        assert attempt(PASSWORD)["Location"] == "/"


def test_signing_in_costs_the_place_nothing(world: World) -> None:
    for _ in range(FAILURES + 2):
        assert attempt(PASSWORD)["Location"] == "/"


def test_nothing_that_was_typed_is_kept_with_a_failure(world: World, as_person: SignIn) -> None:
    secret, back = "my other bank password", "/g/northfield/plants/ABC234"
    Client().post("/sign-in", {"username": EMAIL, "password": secret, "next": back})
    client = as_person(world.member)
    client.post("/sign-in/again", {"password": secret, "next": back})
    client.post("/settings/password", {"old_password": secret, "new_password": secret})
    kept = str(list(AccessAttempt.objects.values()))
    assert AccessAttempt.objects.get().failures_since_start == 3
    assert secret not in kept
    assert back not in kept


def test_no_log_of_signing_in_or_out_is_kept(world: World) -> None:
    client = Client()
    client.post("/sign-in", {"username": EMAIL, "password": PASSWORD})
    client.post("/sign-out")
    fail(LIMIT + 1)
    assert not AccessLog.objects.exists()
    assert not AccessFailureLog.objects.exists()
    assert not any("garden" in key for key in Allowance.objects.values_list("key", flat=True))


def test_what_is_noted_of_an_address_can_be_deleted(world: World) -> None:
    fail(2)
    attempt(email="owner@garden.example")
    forget_failures("Member@garden.example")
    assert list(AccessAttempt.objects.values_list("username", flat=True)) == [
        "owner@garden.example"
    ]
    prune(now=NOON + timedelta(hours=1, seconds=1))
    assert not AccessAttempt.objects.exists()


def test_failures_when_asked_again_count_too(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)
    said = [client.post("/sign-in/again", {"password": "no"}).status_code for _ in range(LIMIT)]
    assert said == [422] * (LIMIT - 1) + [429]
    assert client.post("/sign-in/again", {"password": PASSWORD}).status_code == 429
    old = {"old_password": PASSWORD, "new_password": "three new words"}
    assert client.post("/settings/password", old).status_code == 429
    # It is no way round the pause, and the session goes on.
    assert attempt(PASSWORD).status_code == 429
    assert client.get("/settings").status_code == 200


@pytest.mark.parametrize(
    "head",
    [
        {"REMOTE_ADDR": ""},
        {"REMOTE_ADDR": "unix:"},
        {"REMOTE_ADDR": "not an address"},
        {"REMOTE_ADDR": "fe80::1%eth0"},
        {"HTTP_USER_AGENT": "x" * 5000, "HTTP_ACCEPT": "y" * 5000},
        {"HTTP_X_REQUESTED_WITH": "XMLHttpRequest"},
    ],
)
def test_odd_requests_are_counted_like_others(world: World, head: dict[str, str]) -> None:
    assert fail(LIMIT, **head) == [422] * (LIMIT - 1) + [429]


def test_without_a_proxy_a_forwarded_address_is_not_believed(world: World) -> None:
    said = [
        attempt(HTTP_X_FORWARDED_FOR=f"192.0.2.{number}").status_code for number in range(LIMIT)
    ]
    assert said[-1] == 429


def test_behind_a_proxy_its_own_entry_counts_and_none_before(world: World, settings: Any) -> None:
    settings.BEHIND_PROXY = True
    said = [
        attempt(HTTP_X_FORWARDED_FOR=f"198.51.100.{number}, 192.0.2.1").status_code
        for number in range(LIMIT)
    ]
    assert said == [422] * (LIMIT - 1) + [429]
    neighbour = attempt(PASSWORD, HTTP_X_FORWARDED_FOR="192.0.2.1, 192.0.2.2")
    assert neighbour["Location"] == "/"


def test_addresses_of_one_ipv6_network_are_one_place(world: World) -> None:
    said = [attempt(REMOTE_ADDR=f"2001:db8:0:1::{number}").status_code for number in range(LIMIT)]
    assert said[-1] == 429
    assert attempt(PASSWORD, REMOTE_ADDR="2001:db8:0:2::1")["Location"] == "/"
    # The same IPv4 address, however it is written.
    assert fail(4, REMOTE_ADDR="192.0.2.9") + fail(4, REMOTE_ADDR="::ffff:192.0.2.9") == [
        *([422] * 7),
        429,
    ]


def test_the_settings_keep_to_what_the_page_says() -> None:
    assert site.AXES_FAILURE_LIMIT == LIMIT
    assert site.AXES_COOLOFF_TIME == PAUSE


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_guesses_at_the_same_moment_are_all_counted() -> None:
    said = all_at_once(12, lambda _: attempt().status_code)
    assert set(said) <= {422, 429}, said
    assert said.count(422) <= 12
    assert AccessAttempt.objects.get().failures_since_start >= LIMIT
    assert attempt(PASSWORD).status_code == 429
