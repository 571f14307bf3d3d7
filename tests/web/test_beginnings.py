"""Sow, pot up, take over; add places and sites."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from lifecycle.models import Person, Place, Plant, SeedLot, Site, Sowing, Variety
from tests.conftest import World
from tests.factories import a_sowing

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def sowing_data(world: World, **more: object) -> dict[str, object]:
    return {
        "uuid": str(uuid4()),
        "species": "chinense",
        "variety": "Habanero",
        "act": "sown",
        "seeds": "30",
        "happened_on": "2026-10-10",
        "place": world.bench.pk,
        "site": world.site.pk,
        "lot_name": "Packet 12",
        "packed_year": "2025",
        "holder": world.member.person_id,
        **more,
    }


def test_sow_once_however_often_it_is_sent(client: Client, world: World) -> None:
    data = sowing_data(world)
    for _ in range(2):
        answer = client.post(f"{world.address}sow", data)
    sowing = Sowing.objects.get()
    assert answer["Location"] == f"{world.address}sowings/{sowing.code}"
    assert (sowing.seeds_sown, sowing.lot.packed_year) == (30, 2025)
    text = client.get(answer["Location"]).content.decode()
    assert "30 seeds sown, 0 up, 0 potted up." in text
    assert "lot Packet 12 packed 2025" in text


def test_plan_a_sowing_without_seeds_or_place(client: Client, world: World) -> None:
    data = sowing_data(world, act="planned", seeds="", place="", happened_on="")
    answer = client.post(f"{world.address}sow", data, follow=True)
    assert Sowing.objects.get().phase == "planned"
    text = answer.content.decode()
    assert "Not sown yet." in text
    assert "/log/sown" in text


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("seeds", "", "Seeds sown: give a whole number from 1 to 10000."),
        ("seeds", "9" * 5000, "Seeds sown: give a whole number"),
        ("seeds", "2.5", "Seeds sown: give a whole number"),
        ("packed_year", "1500", "Packed in year: give a whole number from 1990"),
        ("packed_year", "2090", "Give a year from 1990 to 2026."),
        ("species", "tulip", "Species: choose one from the list."),
        ("variety", " ", "Variety: give an answer."),
        ("variety", "x" * 10_000, "Variety: keep it to 60 characters (it has 10000)."),
        ("lot_name", "\x00", "Seed lot: it holds a character nobody can read."),
        ("place", "9" * 40, "Where it stands: choose one from the list."),
        ("site", "\x00", "Null characters are not allowed."),
        ("holder", "-1", "Held by: choose one from the list."),
        ("act", "", "What has happened: give an answer."),
        ("happened_on", "2026-10-15", "in the future at this site"),
        ("uuid", "", "Load the page again."),
    ],
)
def test_sow_refuses_with_a_sentence(
    client: Client, world: World, field: str, value: str, sentence: str
) -> None:
    answer = client.post(f"{world.address}sow", sowing_data(world, **{field: value}))
    assert answer.status_code == 422
    text = answer.content.decode()
    assert sentence in text
    assert "<title>Error: Sow" in text
    assert not Sowing.objects.exists()


def test_emerged_and_potted_up(client: Client, world: World) -> None:
    sowing = a_sowing(world.member, world.bench)
    page = f"{world.address}sowings/{sowing.code}"
    many = client.post(f"{page}/log/emerged", {"uuid": str(uuid4()), "quantity": "41"})
    assert "41 seedlings cannot come from 40 seeds" in many.content.decode()
    client.post(f"{page}/log/emerged", {"uuid": str(uuid4()), "quantity": "35"})
    data = {
        "uuid": str(uuid4()),
        "singles": "3",
        "pairs": "2",
        "place": world.bench.pk,
        "happened_on": "2026-10-12",
    }
    for _ in range(2):
        assert client.post(f"{page}/pot-up", data).status_code == 302
    assert sorted(Plant.objects.filter(sowing=sowing).values_list("count", flat=True)) == [
        *(1, 1, 1, 2, 2)
    ]
    text = client.get(page).content.decode()
    assert "40 seeds sown, 35 up, 7 potted up." in text
    assert "Plants from it" in text
    none = client.post(f"{page}/pot-up", {**data, "uuid": str(uuid4()), "singles": 0, "pairs": 0})
    assert "Give at least one pot" in none.content.decode()


def test_take_over_a_plant(client: Client, world: World) -> None:
    data = {
        "uuid": str(uuid4()),
        "species": "annuum",
        "variety": "Cayenne",
        "name": "",
        "place": world.quarters.pk,
        "phase": "resting",
        "count": "2",
        "holder": "",
        "happened_on": "2026-10-01",
        "note": "from the old shed",
    }
    for _ in range(2):
        answer = client.post(f"{world.address}plants/add", data)
    plant = Plant.objects.exclude(pk=world.plant.pk).get()
    assert answer["Location"].endswith(plant.code)
    text = client.get(answer["Location"]).content.decode()
    assert "A pair grown together. Shed, Canal bank. Nobody holds it. Resting" in text
    assert "from the old shed" in text
    odd = client.post(f"{world.address}plants/add", {**data, "uuid": str(uuid4()), "count": "7"})
    assert "One plant or two together: choose one from the list." in odd.content.decode()


def test_add_a_place_in_the_readers_units(world: World, as_person: SignIn) -> None:
    Person.objects.filter(pk=world.owner.person_id).update(temperature="F")
    client = as_person(world.owner)
    data = {
        "site": world.site.pk,
        "name": "Cellar",
        "kind": "quarters",
        "position": "4",
        "temperature_c": "50",
    }
    assert client.post(f"{world.address}places/add", data).status_code == 302
    assert Place.objects.get(name="Cellar").temperature_c == pytest.approx(10)
    page = f"{world.address}beds/{Place.objects.get(name='Cellar').pk}"
    assert "Kept at about 50 °F." in client.get(page).content.decode()
    twice = client.post(f"{world.address}places/add", data)
    assert "“Cellar” already" in twice.content.decode()
    client.post(f"{world.address}places/add", {**data, "name": "Loft", "temperature_c": "12C"})
    assert Place.objects.get(name="Loft").temperature_c == 12
    hot = client.post(f"{world.address}places/add", {**data, "temperature_c": "999"})
    assert "give a temperature from 14 to 113 °F" in hot.content.decode()


def test_add_a_site(world: World, as_person: SignIn) -> None:
    client = as_person(world.owner)
    data = {
        "site_name": "South bank",
        "latitude": "-27.3",
        "longitude": "153",
        "time_zone": "Australia/Brisbane",
        "year_starts_in": "7",
    }
    answer = client.post(f"{world.address}sites/add", data, follow=True)
    assert "The dates of South bank are not known yet" in answer.content.decode()
    assert Site.objects.get(name="South bank").southern
    for month in ("13", "x", ""):
        odd = client.post(f"{world.address}sites/add", {**data, "year_starts_in": month})
        assert odd.status_code == 422
    assert SeedLot.objects.count() == 0


def test_a_refused_sowing_leaves_no_variety_behind(client: Client, world: World) -> None:
    data = sowing_data(world, variety="Half written", happened_on="2030-01-01")
    answer = client.post(f"{world.address}sow", data)
    assert answer.status_code == 422
    assert not Variety.objects.filter(name="Half written").exists()
    assert not Sowing.objects.exists()
