"""The public address of a thermometer: what it takes, and what it says of everything else."""

import json
from typing import Any

import pytest
from django.test import Client

from lifecycle.models import AirReading, SensorAddress
from lifecycle.records.secrets import code_for
from lifecycle.records.weather.sensors import new_address
from tests.conftest import World
from tests.factories import NOON, SiteFactory


@pytest.fixture
def address(world: World) -> str:
    row = new_address(world.owner, world.site, now=NOON)
    return f"/sensor/{row.pk}/{code_for('sensor', row.pk, row.nonce)}"


@pytest.fixture
def client() -> Client:
    return Client(enforce_csrf_checks=True)


def send(client: Client, address: str, body: object) -> tuple[int, str]:
    data = body if isinstance(body, (bytes, str)) else json.dumps(body)
    answer = client.post(address, data, content_type="application/json")
    assert answer["Content-Type"] == "text/plain; charset=utf-8"
    return answer.status_code, answer.content.decode()


@pytest.mark.parametrize(
    ("body", "air_c", "at"),
    [
        ({"c": 3.2}, 3.2, "2026-10-14T12:00:00+00:00"),
        ({"f": 38}, 3.33, "2026-10-14T12:00:00+00:00"),
        ({"c": "-3.2"}, -3.2, "2026-10-14T12:00:00+00:00"),
        ({"c": 0, "at": ""}, 0.0, "2026-10-14T12:00:00+00:00"),
        ({"c": 3.2, "at": "2026-10-14T05:30:40Z"}, 3.2, "2026-10-14T05:30:00+00:00"),
        ({"c": 3.2, "at": "2026-10-14T05:30-05:00"}, 3.2, "2026-10-14T10:30:00+00:00"),
        ({"c": 3.2, "at": "2026-10-14T05:30"}, 3.2, "2026-10-14T05:30:00+00:00"),
    ],
)
def test_a_reading_is_kept(
    client: Client, address: str, body: dict[str, Any], air_c: float, at: str
) -> None:
    status, line = send(client, address, body)
    assert status == 200, line
    assert line.startswith("Kept ")
    assert line.count("\n") == 1
    row = AirReading.objects.get()
    assert (row.air_c, row.at.isoformat()) == (air_c, at)


def test_a_form_does_as_well(client: Client, address: str) -> None:
    assert client.post(address, {"f": "50"}).content == b"Kept 10.0 C at 2026-10-14T12:00Z.\n"


def test_a_time_without_its_zone_is_on_the_sites_clock(world: World, client: Client) -> None:
    site = SiteFactory(garden=world.garden, time_zone="America/Chicago")
    row = new_address(world.owner, site, now=NOON)
    address = f"/sensor/{row.pk}/{code_for('sensor', row.pk, row.nonce)}"
    assert send(client, address, {"c": 1, "at": "2026-10-14T05:30"})[0] == 200
    assert AirReading.objects.get().at.isoformat() == "2026-10-14T10:30:00+00:00"


def test_a_minute_is_kept_once(client: Client, address: str) -> None:
    send(client, address, {"c": 3.2})
    assert send(client, address, {"c": 9}) == (
        202,
        "The minute 2026-10-14T12:00Z is kept already.\n",
    )
    assert AirReading.objects.get().air_c == 3.2


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"[]", b"3", b"null", b"[" * 2000, b"\xff", {}, {"c": None}, {"c": True},
        {"c": "unavailable"}, {"c": []}, {"c": 3, "f": 38}, {"c": 61}, {"f": 500}, {"c": -61},
        {"c": 1e400}, {"c": "nan"}, {"c": 3, "at": "soon"}, {"c": 3, "at": 5},
        {"c": 3, "at": "2026-10-14T12:11Z"}, {"c": 3, "at": "2026-09-01T12:00Z"},
        {"c": 3, "at": "0001-01-01T00:00"}, {"c": 3, "at": "9999-12-31T23:59-12:00"},
        {"C": 3}, {"c": 10**400}, {"c": "1" * 1000},
    ],
)  # fmt: skip
def test_what_is_no_reading_gets_one_line(client: Client, address: str, body: object) -> None:
    status, line = send(client, address, body)
    assert status == 400
    assert line.endswith(".\n")
    assert line.count("\n") == 1
    assert not AirReading.objects.exists()


def test_a_wrong_code_and_no_address_get_the_same_answer(client: Client, address: str) -> None:
    pk = SensorAddress.objects.get().pk
    answers = [
        client.post(wrong, {"c": "3"})
        for wrong in (
            f"/sensor/{pk}/{'A' * 24}",
            f"/sensor/{pk}/x",
            address.replace(f"/{pk}/", f"/{pk + 1}/"),
            address.replace(f"/{pk}/", f"/{10**30}/"),
            f"/sensor/{pk}/é",
        )
    ]
    assert {(answer.status_code, answer.content) for answer in answers} == {
        (404, b"There is no such address.\n")
    }
    assert len({tuple(sorted(answer.headers.items())) for answer in answers}) == 1
    # A wrong body tells nobody whether the code was right.
    assert client.post(f"/sensor/{pk}/x", b"{", content_type="application/json").status_code == 404


def test_only_a_post_of_two_kilobytes(client: Client, address: str) -> None:
    for ask in (client.get, client.put, client.delete, client.head):
        assert ask(address).status_code == 405
    padded = json.dumps({"c": 3}).ljust(2048)
    assert send(client, address, padded + " ") == (413, "A reading has at most 2048 bytes.\n")
    assert send(client, address, padded)[0] == 200
    headers = {"CONTENT_LENGTH": "-5"}
    assert client.generic("POST", address, b"", **headers).status_code == 400
