"""How much may be sent to an address, and what no cache may keep."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.web.guards import LARGEST, LARGEST_RECORD, SMALL, most_for
from tests.conftest import World


@pytest.mark.parametrize(
    ("path", "most"),
    [
        ("/settings", LARGEST),
        ("/g/northfield/sign-in", LARGEST),
        ("/sign-in", SMALL),
        ("/sign-in/link", SMALL),
        ("/sign-in/again", SMALL),
        ("/sign-in/l/1/code", SMALL),
        ("/sensor/1/code", SMALL),
        ("/first-run", SMALL),
        ("/i/1/code", SMALL),
        ("/join/1/code", SMALL),
        ("/a/1/code", SMALL),
        ("/u/1/due/code", SMALL),
        ("/g/northfield/sites/3/climate", LARGEST_RECORD),
        ("/g/northfield/sites/3/climate/more", LARGEST),
        ("/g/a/b/sites/3/climate", LARGEST),
    ],
)
def test_each_address_takes_what_it_needs(path: str, most: int) -> None:
    assert most_for(path) == most


@pytest.mark.parametrize("path", ["/sign-in", "/a/1/code", "/nowhere", "/settings"])
def test_too_much_is_refused_before_it_is_read(client: Client, path: str) -> None:
    sent = client.generic("POST", path, b"", CONTENT_LENGTH=str(most_for(path) + 1))
    assert sent.status_code == 413
    assert sent.content == b"This is too large to be taken here.\n"


@pytest.mark.django_db
def test_as_much_as_allowed_is_read(client: Client) -> None:
    body = b"x=" + b"a" * 1000
    answer = client.generic("POST", "/sign-in", body, "application/x-www-form-urlencoded")
    assert answer.status_code in (200, 422)


@pytest.mark.parametrize("length", ["²", "-1", "many"])
def test_a_length_that_is_no_number_is_refused(client: Client, length: str) -> None:
    assert client.generic("POST", "/sign-in", b"", CONTENT_LENGTH=length).status_code == 400


def test_no_cache_keeps_what_a_reader_sees(world: World, as_person: Callable[..., Client]) -> None:
    client = as_person(world.coordinator)
    for path in ("/settings", world.address, f"{world.address}frost", f"{world.address}system"):
        kept = client.get(path).headers["Cache-Control"]
        assert "no-store" in kept, path
        assert "private" in kept, path


@pytest.mark.django_db
def test_pages_that_say_so_themselves_are_left_alone(client: Client) -> None:
    assert client.get("/manifest.webmanifest").headers.get("Cache-Control") != "private, no-store"


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_signing_in_knows_two_methods_only(client: Client, method: str) -> None:
    for path in ("/sign-in", "/sign-in/link"):
        assert getattr(client, method)(path).status_code == 405, path
