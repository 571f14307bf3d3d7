"""What was fed stays with its entry; a plant at rest and one that roots are warned of."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry
from tests.conftest import World
from tests.factories import a_plant, an_entry

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def fed(world: World) -> Entry:
    return an_entry(world.member, world.plant, Kind.FED, quantity=20.0, material="bone_meal")


def test_the_record_names_the_material(world: World, client: Client) -> None:
    fed(world)
    page = client.get(f"{world.address}plants/{world.plant.code}").content.decode()
    assert "bone meal" in page


def test_a_corrected_feed_keeps_its_material(world: World, client: Client) -> None:
    entry = fed(world)
    address = f"{world.address}entries/{entry.pk}"
    form = client.get(address).context["correction"]
    typed = {"act": "correct", "happened_on": "2026-10-14", "quantity": "30", "reason": "Slip"}
    client.post(address, {**typed, "uuid": form["uuid"].value()})
    new = Entry.objects.get(replaces=entry)
    assert (new.quantity, new.material) == (30.0, "bone_meal")


@pytest.mark.parametrize(
    ("phase", "inside", "words"),
    [("resting", True, "What rests is not fed"), ("establishing", False, "young pepper")],
)
def test_who_should_not_have_it_is_said(
    world: World, client: Client, phase: str, inside: bool, words: str
) -> None:
    place = world.quarters if inside else world.bed
    plant = a_plant(world.member, place, name="New", phase=phase, happened_on=date(2026, 10, 1))
    address = f"{world.address}plants/{plant.code}/feed"
    page = client.get(address, {"material": "blood_meal", "use": "hole", "litres": "1"})
    assert words in page.content.decode()
