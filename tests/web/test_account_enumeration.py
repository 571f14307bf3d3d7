"""Nothing tells whether anybody has an address: not the page, its head, or the work behind it.

Each way in is tried with one address three times over: nobody has it, somebody has it, and
somebody has it who may not sign in or has no password.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.hashers import MD5PasswordHasher
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Allowance, Letter, Person
from tests.conftest import World
from tests.factories import NOON, PersonFactory

EMAIL = "anna@somewhere.example"
VARIES = re.compile(r'(csrfmiddlewaretoken" value=|nonce=|nonce-|csrftoken=)["\']?[\w+/=-]+')


@dataclass(frozen=True)
class Seen:
    """All that a stranger can see of an answer, and the work it cost."""

    status: int
    body: str
    head: tuple[tuple[str, str], ...]
    cookies: tuple[str, ...]
    queries: tuple[str, ...]
    hashes: int


def wrong_password(client: Client) -> Any:
    return client.post("/sign-in", {"username": EMAIL, "password": "wrong and wrong"})


def lock_out(client: Client) -> Any:
    for _ in range(8):
        wrong_password(client)
    return wrong_password(client)


def last_before_lock_out(client: Client) -> Any:
    for _ in range(7):
        wrong_password(client)
    return wrong_password(client)


def ask_for_link(client: Client) -> Any:
    return client.post("/sign-in/link", {"email": EMAIL})


def ask_too_often(client: Client) -> Any:
    for _ in range(6):
        ask_for_link(client)
    return ask_for_link(client)


def nobody() -> None:
    assert not Person.objects.filter(email=EMAIL).exists()


def somebody() -> None:
    PersonFactory(email=EMAIL)


def stopped() -> None:
    PersonFactory(email=EMAIL, is_active=False)


def erased() -> None:
    PersonFactory(email=EMAIL, erased_at=NOON)


def without_password() -> None:
    person = PersonFactory(email=EMAIL, password=None)
    assert not person.has_usable_password()


@pytest.fixture
def hashes(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was hashed."""
    done: list[str] = []
    encode = MD5PasswordHasher.encode

    def counted(self: MD5PasswordHasher, password: str, salt: str) -> str:
        done.append(password)
        return str(encode(self, password, salt))

    monkeypatch.setattr(MD5PasswordHasher, "encode", counted)
    return done


def seen(try_it: Callable[[Client], Any], hashes: list[str]) -> Seen:
    client = Client()
    hashes.clear()
    with CaptureQueriesContext(connection) as queries:
        answer = try_it(client)
    statements = tuple(re.split(r"[\s(]", each["sql"])[0] for each in queries)
    return Seen(
        status=answer.status_code,
        body=VARIES.sub("", answer.content.decode()),
        head=tuple(sorted((name, VARIES.sub("", value)) for name, value in answer.items())),
        cookies=tuple(sorted(answer.cookies)),
        queries=statements,
        hashes=len(hashes),
    )


@pytest.mark.parametrize("who", [somebody, stopped, erased, without_password])
@pytest.mark.parametrize(
    ("try_it", "status", "hashed"),
    [
        (wrong_password, 422, 1),
        (last_before_lock_out, 429, 8),
        (lock_out, 429, 8),
        (ask_for_link, 200, 0),
        (ask_too_often, 200, 0),
    ],
)
def test_an_address_looks_the_same_whoever_has_it(
    world: World,
    hashes: list[str],
    who: Callable[[], None],
    try_it: Callable[[Client], Any],
    status: int,
    hashed: int,
) -> None:
    nobody()
    unknown = seen(try_it, hashes)
    for table in (Allowance, Letter, AccessAttempt):
        table.objects.all().delete()
    who()
    known = seen(try_it, hashes)
    assert known == unknown
    assert (known.status, known.hashes) == (status, hashed)


def test_the_letters_written_down_differ_in_nothing_but_the_address(world: World) -> None:
    ask_for_link(Client())
    Client().post("/sign-in/link", {"email": "member@garden.example"})
    unknown, known = Letter.objects.order_by("pk").values()
    differ = {name for name in known if known[name] != unknown[name]}
    assert differ == {"id", "email", "nonce"}


def test_labels_of_plants_say_nothing_to_strangers(world: World) -> None:
    there = Client().get(f"/p/{world.plant.code}")
    nowhere = Client().get("/p/ZZZZZZ")
    assert there.status_code == nowhere.status_code == 302
    assert there["Location"] == f"/sign-in?next=/p/{world.plant.code}"
    assert nowhere["Location"] == "/sign-in?next=/p/ZZZZZZ"
