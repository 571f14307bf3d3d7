"""Varieties: the list, adding one, its own values beside the published ones."""

from collections.abc import Callable
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.handbook import CROPS
from lifecycle.models import Person, Variety
from tests.conftest import World
from tests.factories import MembershipFactory, VarietyFactory, a_plant

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}varieties"


@pytest.fixture
def page(world: World, address: str) -> str:
    return f"{address}/{world.plant.variety_id}"


def test_a_variety_is_added_once(world: World, client: Client, address: str) -> None:
    data = {"species": "chinense", "name": " Orange  lantern "}
    text = client.post(f"{address}/add", data, follow=True).content.decode()
    assert "<h1>Orange lantern</h1>" in text
    client.post(f"{address}/add", data)
    assert Variety.objects.filter(name="Orange lantern", species="chinense").count() == 1
    listed = client.get(address).content.decode()
    assert "Orange lantern" in listed
    assert "1 living plant" in listed
    assert "no living plants" in listed


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"species": "annuum", "name": ""}, "Variety: give an answer."),
        ({"species": "annuum", "name": "x" * 61}, "Variety: keep it to 60 characters"),
        ({"species": "moon", "name": "Moon"}, "Species: choose one from the list."),
    ],
)
def test_a_variety_that_cannot_be(client: Client, address: str, data: dict, sentence: str) -> None:
    answer = client.post(f"{address}/add", data)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_own_values_stand_beside_the_published(
    world: World, client: Client, address: str, page: str
) -> None:
    typed = {"spacing": "50", "ready_night": "54 F", "sow_weeks": "9"}
    text = unescape(client.post(page, typed, follow=True).content.decode())
    assert "Saved. 1 plant or sowing will be planned anew within minutes." in text
    kept = Variety.objects.get(pk=world.plant.variety_id).overrides
    assert kept["spacing"] == 50
    assert kept["sow_weeks"] == 63
    assert kept["ready_night"] == pytest.approx((54 - 32) / 1.8)
    assert "50 cm" in text
    assert "9 weeks" in text
    published = CROPS["annuum"].fact("sow_weeks")
    assert f"{published.si / 7:g} weeks to {published.si_to / 7:g} weeks (" in text
    assert "Distance between plants: 50 cm here, published" in client.get(address).content.decode()
    # Saved again as it stands nothing changes; emptied, the published values count.
    again = client.post(page, typed, follow=True).content.decode()
    assert "No plan changes." in again
    client.post(page, {})
    assert Variety.objects.get(pk=world.plant.variety_id).overrides == {}


def test_values_in_the_readers_units(world: World, page: str, as_person: SignIn) -> None:
    Person.objects.filter(pk=world.owner.person_id).update(temperature="F", length="in")
    client = as_person(Person.objects.get(pk=world.owner.person_id))
    client.post(page, {"height": "30", "base_temp": "50"})
    kept = Variety.objects.get(pk=world.plant.variety_id).overrides
    assert kept["height"] == pytest.approx(76.2)
    assert kept["base_temp"] == pytest.approx(10)
    text = client.get(page).content.decode()
    assert 'value="30"' in text
    assert 'value="50"' in text
    bad = client.post(page, {"height": "1"}).content.decode()
    assert "Height: give 1.97 to 236 in." in bad


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"spacing": "1"}, "Distance between plants: give 2 to 400 cm."),
        ({"spacing": "wide"}, "Distance between plants: give 2 to 400 cm."),
        ({"sow_weeks": "31"}, "give 1 to 30 weeks."),
        ({"maturity": "0"}, "give 15 to 365 days."),
        ({"ready_night": "80"}, "give a temperature from 10 to 15.6 °C."),
        ({"fruit_per_plant": "\x00"}, "give 1 to 2000."),
        ({"height": "9" * 5000}, "Height: give 5 to 600 cm."),
    ],
)
def test_values_out_of_bounds_get_a_sentence(
    world: World, client: Client, page: str, typed: dict, sentence: str
) -> None:
    answer = client.post(page, typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert Variety.objects.get(pk=world.plant.variety_id).overrides == {}


def test_members_add_and_coordinators_set(
    world: World, address: str, page: str, as_person: SignIn
) -> None:
    client = as_person(world.member)
    assert client.get(f"{address}/add").status_code == 200
    text = client.get(page).content.decode()
    assert "An owner or a coordinator sets" in text
    assert client.post(page, {"spacing": "50"}).status_code == 403
    assert as_person(world.committee).get(page).status_code == 200
    assert as_person(world.committee).post(f"{address}/add", {}).status_code == 403
    stranger = MembershipFactory(role="owner")
    assert as_person(stranger).get(page).status_code == 404


def test_the_list_costs_the_same_whatever_it_holds(
    world: World, client: Client, address: str
) -> None:
    seen = []
    for number in (2, 20):
        for _ in range(number):
            variety = VarietyFactory(garden=world.garden, overrides={"spacing": 40.0})
            a_plant(world.member, world.bed, variety=variety)
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        seen.append(len(queries))
    # Session, person, membership, varieties.
    assert seen == [4, 4]
