"""A garden's own materials, and feeding with a named one."""

from datetime import date
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, GardenMaterial, Task
from lifecycle.records.crops.feeding import feed
from lifecycle.records.crops.materials import add_material
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task, an_entry

GOOD = {"name": "Bag in the shed", "n": 2.0, "p2o5": 4.0, "k2o": 2.0, "density": 0.8}


def own(world: World) -> GardenMaterial:
    return add_material(world.member, **GOOD)


def test_a_material_is_kept_by_its_label(world: World) -> None:
    row = own(world)
    assert str(row) == "Bag in the shed 2-4-2"
    assert row.key == f"own:{row.pk}"
    assert add_material(world.member, **{**GOOD, "name": "Other", "density": None}).density is None


@pytest.mark.parametrize(
    ("wrong", "field", "sentence"),
    [
        ({"n": 60.0, "p2o5": 41.0}, "n", "adds to over 100 percent"),
        ({"n": -1.0}, "n", "Nitrogen N"),
        ({"k2o": 101.0}, "n", "Potash K2O"),
        ({"p2o5": float("nan")}, "n", "Phosphate P2O5"),
        ({"n": 0.0, "p2o5": 0.0, "k2o": 0.0}, "n", "0-0-0 feeds nothing"),
        ({"density": 0.0}, "density", "The bulk density"),
        ({"density": 3.1}, "density", "The bulk density"),
        ({"name": " "}, "name", "Give the material a name."),
    ],
)
def test_a_label_that_cannot_be_is_refused(
    world: World, wrong: dict[str, object], field: str, sentence: str
) -> None:
    with pytest.raises(Refused) as refused:
        add_material(world.member, **{**GOOD, **wrong})  # type: ignore[arg-type]
    assert refused.value.field == field
    assert sentence in str(refused.value)
    assert not GardenMaterial.objects.exists()


def test_a_name_is_given_once_in_a_garden(world: World) -> None:
    own(world)
    with pytest.raises(Refused, match="already"):
        own(world)
    elsewhere = MembershipFactory()
    assert add_material(elsewhere, **GOOD).garden == elsewhere.garden
    with pytest.raises(PermissionDenied):
        add_material(world.committee, **GOOD)


def given(world: World, material: str, grams: float = 30.0, **more: object) -> list[int]:
    asked = {
        "material": material,
        "happened_on": date(2026, 10, 1),
        "note": "",
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    logged = feed(world.member, {world.plant: grams}, **asked)  # type: ignore[arg-type]
    return [each.entry.pk for each in logged]


def test_feeding_keeps_grams_and_material(world: World) -> None:
    uuid = uuid4()
    [pk] = given(world, own(world).key, 30.04, uuid=uuid)
    entry = Entry.objects.get(pk=pk)
    assert (entry.kind, entry.quantity, entry.material) == (
        Kind.FED,
        30.0,
        GardenMaterial.objects.get().key,
    )
    assert given(world, GardenMaterial.objects.get().key, uuid=uuid) == [pk]
    [other] = given(world, "bone_meal")
    assert Entry.objects.get(pk=other).material == "bone_meal"


def test_feeding_does_the_task(world: World) -> None:
    task = a_task(world.plant, "feed")
    [pk] = given(world, "bone_meal")
    task.refresh_from_db()
    assert (task.state, task.entry_id) == (Task.State.DONE, pk)


def test_all_are_fed_or_none(world: World) -> None:
    ended = a_plant(world.member, world.bed, name="Gone")
    an_entry(world.member, ended, Kind.ENDED, choice="died", happened_on=date(2026, 9, 1))
    with pytest.raises(Refused, match="Gone"):
        feed(
            world.member,
            {world.plant: 30.0, ended: 30.0},
            material="bone_meal",
            happened_on=date(2026, 10, 1),
            note="",
            uuid=uuid4(),
            now=NOON,
        )
    assert not Entry.objects.filter(kind=Kind.FED).exists()


def test_an_unknown_material_no_plant_and_a_tiny_dose_are_refused(world: World) -> None:
    foreign = add_material(MembershipFactory(), **GOOD)
    for key in ("cheese", "own:", "own:x", "own:²", f"own:{foreign.pk}", "own:" + "9" * 12, ""):
        with pytest.raises(Refused) as refused:
            given(world, key)
        assert refused.value.field == "material", key
    with pytest.raises(Refused, match="at least one plant"):
        feed(
            world.member,
            {},
            material="bone_meal",
            happened_on=date(2026, 10, 1),
            note="",
            uuid=uuid4(),
            now=NOON,
        )
    with pytest.raises(Refused, match=r"less than 0\.1 g"):
        given(world, "bone_meal", 0.09)
    assert given(world, "bone_meal", 0.1)
    with pytest.raises(Refused, match="5000"):
        given(world, "bone_meal", 5001.0)
