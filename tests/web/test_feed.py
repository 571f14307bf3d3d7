"""Feeding: the material at hand, its dose, the warnings, and what is logged."""

import re
from collections.abc import Callable
from datetime import date
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, GardenMaterial, Person, Plant, Task
from lifecycle.records.crops.materials import add_material
from lifecycle.records.ground.ground import note_year, set_ground
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, VarietyFactory, a_plant, a_sowing, a_task, an_entry

SignIn = Callable[..., Client]
EVEN = {"name": "Bag in the shed", "n": 2.0, "p2o5": 4.0, "k2o": 2.0, "density": None}


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def bed(world: World) -> str:
    set_ground(
        world.coordinator,
        world.bed,
        length_m=4.0,
        width_m=1.0,
        depth_cm=None,
        soil="",
        mulched=False,
        wire=False,
    )
    return f"{world.address}beds/{world.bed.pk}/feed"


def own(world: World) -> str:
    return add_material(world.member, **EVEN).key  # type: ignore[arg-type]


def answered(client: Client, address: str, status: int = 200, **query: object) -> str:
    answer = client.get(address, query)
    assert answer.status_code == status
    return answer.content.decode()


def a_young_pepper(world: World, ago: int = 10, name: str = "Young") -> Plant:
    young = a_plant(
        world.member, world.bench, phase="seedling", name=name, happened_on=date(2026, 9, 1)
    )
    day = date.fromordinal(NOON.date().toordinal() - ago)
    an_entry(world.member, young, Kind.PLANTED_OUT, happened_on=day, place=world.bed)
    return young


def test_before_a_choice_it_asks_for_the_material(world: World, client: Client, bed: str) -> None:
    own(world)
    text = answered(client, bed)
    assert "<h2>Choose the material</h2>" in text
    assert "Bag in the shed 2-4-2" in text
    assert text.index("Bag in the shed") < text.index('value="bone_meal"')
    assert "<h2>Dose</h2>" not in text
    assert 'name="act" value="feed"' not in text


def test_a_bed_gets_grams_and_cups(world: World, client: Client, bed: str) -> None:
    text = answered(client, bed, material=own(world), use="bed", area_m2="4", litres="1")
    said = re.search(r"<b>Bag in the shed 2-4-2: (\d+) g</b>, about ([\d¼½¾]+) cups", text)
    assert said is not None, text
    begun = re.search(r'name="grams" value="([\d.]+)"', text)
    assert begun is not None
    assert float(begun[1]) == pytest.approx(float(said[1]), abs=0.5)
    assert re.search(r"Nitrogen N</th><td>[\d.]+ g", text)
    assert "The bag's own guarantee and its directions go first." in text.replace("&#x27;", "'")
    assert "Over what is wanted" not in text


def test_the_area_comes_from_the_bed_and_may_be_another(
    world: World, client: Client, bed: str
) -> None:
    key = own(world)
    assert 'value="4"' in answered(client, bed)

    def grams(area: str) -> float:
        text = answered(client, bed, material=key, use="bed", area_m2=area, litres="1")
        return float(re.search(r"2-4-2: (\d+) g", text)[1])  # type: ignore[index]

    assert grams("8") == pytest.approx(2 * grams("4"), abs=1)


def test_a_hole_and_a_litre(world: World, client: Client, bed: str) -> None:
    key = own(world)
    hole = answered(client, bed, material=key, use="hole", area_m2="", litres="1")
    assert "Given to each" in hole
    water = answered(client, bed, material=key, use="water", area_m2="", litres="10")
    assert "Given in all" in water
    assert "mg of nitrogen a litre" in water


def test_a_mix_shows_what_goes_over(world: World, client: Client, bed: str) -> None:
    text = answered(
        client,
        bed,
        material="blood_meal",
        second="bone_meal",
        third="kelp",
        use="bed",
        area_m2="4",
        litres="1",
    )
    assert "Over what is wanted" in text
    assert text.count("<li><b>") == 3
    assert "Mixed: " in text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"area_m2": "0"}, "Area: give 0.01 to 40000 m2."),
        ({"area_m2": "-4"}, "Area: give 0.01 to 40000 m2."),
        ({"area_m2": ""}, "Area: say how large the bed is, or choose one plant."),
        ({"area_m2": "wide"}, "Area: give 0.01 to 40000 m2."),
        ({"material": "cheese"}, "Material at hand: choose one from the list."),
        ({"material": "\x00"}, "Material at hand: choose one from the list."),
        ({"use": "moon"}, "For: choose one from the list."),
        ({"use": "water", "litres": "0"}, "Water: give 0.1 to 1000 litre."),
        ({"use": "water", "litres": ""}, "Water: say how many litres."),
        ({"second": "bone_meal"}, "choose another material than the first"),
    ],
)
def test_a_question_that_cannot_be_is_answered_at_its_field(
    world: World, client: Client, bed: str, query: dict[str, str], said: str
) -> None:
    good = {"material": "bone_meal", "use": "bed", "area_m2": "4", "litres": "1"}
    text = answered(client, bed, 422, **{**good, **query})
    assert said in text
    assert "<h2>Dose</h2>" not in text


def test_a_mix_that_lacks_a_nutrient_says_so(world: World, client: Client, bed: str) -> None:
    text = answered(
        client, bed, material="blood_meal", second="bone_meal", use="bed", area_m2="4", litres="1"
    )
    assert "None of these materials supplies K2O" in text


def test_a_young_pepper_should_not_have_nitrogen(world: World, client: Client, bed: str) -> None:
    asked = {"material": "blood_meal", "use": "bed", "area_m2": "4", "litres": "1"}
    assert "a young pepper should not have" not in answered(client, bed, **asked)
    young = a_young_pepper(world)
    said = answered(client, bed, **asked)
    assert "a young pepper should not have" in said
    assert "three to four weeks after planting out" in said
    alone = f"{world.address}plants/{young.code}/feed"
    assert "a young pepper should not have" in answered(
        client, alone, material="blood_meal", use="hole", litres="1"
    )
    kind = answered(client, bed, **{**asked, "material": own(world)})
    assert "a young pepper should not have" not in kind


def test_magnesium_salts_and_a_legume_before(world: World, client: Client, bed: str) -> None:
    note_year(world.coordinator, world.bed, year=2025, family="fabaceae", note="", now=NOON)
    text = answered(client, bed, material=own(world), use="bed", area_m2="4", litres="1")
    assert "some nitrogen is left" in text
    salts = answered(client, bed, material="epsom", use="bed", area_m2="4", litres="1")
    assert "no cure for blossom-end rot; even watering is" in salts


def send(client: Client, address: str, **more: object) -> object:
    data = {
        "act": "feed",
        "uuid": str(uuid4()),
        "material": "bone_meal",
        "use": "bed",
        "grams": "90",
        "happened_on": "",
        "note": "",
        **more,
    }
    return client.post(address, data)


def test_a_bed_is_logged_plant_by_plant_once(world: World, client: Client, bed: str) -> None:
    others = [a_plant(world.member, world.bed) for _ in range(2)]
    tasks = [a_task(plant, "feed") for plant in (world.plant, *others)]
    codes = [world.plant.code, *(plant.code for plant in others), "NOBODY"]
    uuid = str(uuid4())
    for _ in range(2):
        answer = client.post(
            bed,
            {
                "act": "feed",
                "uuid": uuid,
                "material": "bone_meal",
                "use": "bed",
                "grams": "90",
                "happened_on": "",
                "note": "Raked in",
                "plant": codes,
            },
            follow=True,
        )
        assert "Fed saved for 3 plants." in answer.content.decode()
    fed = Entry.objects.filter(kind=Kind.FED)
    assert {(each.quantity, each.material, each.note) for each in fed} == {
        (30, "bone_meal", "Raked in")
    }
    assert fed.count() == 3
    assert {Task.objects.get(pk=task.pk).state for task in tasks} == {Task.State.DONE}


def test_each_gets_a_holes_dose(world: World, client: Client, bed: str) -> None:
    other = a_plant(world.member, world.bed)
    send(client, bed, use="hole", grams="20", plant=[world.plant.code, other.code])
    fed = Entry.objects.filter(kind=Kind.FED)
    assert [each.quantity for each in fed] == [20, 20]


def test_a_plants_own_page(world: World, client: Client) -> None:
    address = f"{world.address}plants/{world.plant.code}/feed"
    text = answered(client, address, material="bone_meal", use="hole", litres="1")
    assert "The whole bed" not in text
    assert "Mixed with" not in text
    send(client, address, use="hole", grams="1 oz", plant=[world.plant.code])
    assert Entry.objects.get(kind=Kind.FED).quantity == pytest.approx(28.3)


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"plant": []}, "Tick at least one plant to feed."),
        ({"grams": "0"}, "Given in all: give 0.1 g to 500 kg."),
        ({"grams": ""}, "Given in all: give 0.1 g to 500 kg."),
        ({"grams": "6000"}, "Give 0.1 to 5000 g."),
        ({"material": "cheese"}, "Choose the material from the list."),
        ({"material": "x" * 25}, "has 25"),
        ({"happened_on": "2026-10-15"}, "is in the future"),
        ({"uuid": "x"}, "This form lost its number on the way."),
        ({"note": "x" * 501}, "keep it to 500"),
    ],
)
def test_a_feed_that_cannot_be_is_not_logged(
    world: World, client: Client, bed: str, sent: dict[str, object], said: str
) -> None:
    answer = send(client, bed, **{"plant": [world.plant.code], **sent})
    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert said in answer.content.decode()  # type: ignore[attr-defined]
    assert not Entry.objects.filter(kind=Kind.FED).exists()


def test_a_material_is_added_by_its_label_and_chosen(
    world: World, client: Client, bed: str
) -> None:
    typed = {"own-name": "New bag", "own-n": "2,5", "own-p2o5": "4 %", "own-k2o": "2"}
    answer = client.post(bed, {"act": "material", **typed})
    row = GardenMaterial.objects.get()
    assert (row.n, row.p2o5, row.k2o, row.density) == (2.5, 4, 2, None)
    assert answer["Location"] == f"{bed}?material=own:{row.pk}&use=bed"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"own-n": "60", "own-p2o5": "50"}, "adds to over 100 percent"),
        ({"own-n": "-1"}, "Nitrogen N: give 0 to 100 %."),
        ({"own-k2o": ""}, "Potash K2O: give 0 to 100 %."),
        ({"own-density": "40"}, "Bulk density: give 0.05 to 3 g per ml."),
        ({"own-name": ""}, "Name on the bag: give an answer."),
    ],
)
def test_a_label_that_cannot_be_is_answered_at_its_field(
    world: World, client: Client, bed: str, typed: dict[str, str], said: str
) -> None:
    good = {"own-name": "Bag", "own-n": "2", "own-p2o5": "4", "own-k2o": "2"}
    answer = client.post(bed, {"act": "material", **good, **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not GardenMaterial.objects.exists()


def test_a_reader_in_inches_gets_ounces(world: World, client: Client, bed: str) -> None:
    Person.objects.filter(pk=world.member.person_id).update(length="in")
    text = answered(client, bed, material=own(world), use="bed", area_m2="43 sq ft", litres="1")
    assert re.search(r"2-4-2: [\d.]+ oz</b>", text)
    assert "oz/10 sq ft" in text


def test_sowings_in_a_bed_are_fed_too_and_nothing_in_an_empty_one(
    world: World, client: Client, bed: str
) -> None:
    beans = a_sowing(world.member, world.bed)
    an_entry(world.member, beans, Kind.EMERGED, quantity=30.0)
    text = answered(client, bed, material="bone_meal", use="bed", area_m2="4", litres="1")
    assert beans.code in text
    empty = PlaceFactory(site=world.site)
    said = answered(
        client,
        f"{world.address}beds/{empty.pk}/feed",
        material="bone_meal",
        use="bed",
        area_m2="4",
        litres="1",
    )
    assert "Nothing grows here that could be fed." in said
    assert "Given in all" not in said


def test_the_task_leads_to_the_dose(world: World, client: Client) -> None:
    task = a_task(world.plant, "feed")
    text = answered(client, f"{world.address}tasks/{task.pk}")
    assert f"plants/{world.plant.code}/feed" in text
    assert 'name="act" value="done"' in text
    other = a_task(world.plant, "cut_back")
    assert "/feed" not in answered(client, f"{world.address}tasks/{other.pk}")


def test_queries_do_not_grow(world: World, client: Client, bed: str) -> None:
    seen = []
    for more in (2, 20):
        for number in range(more):
            a_plant(world.member, world.bed, variety=VarietyFactory(garden=world.garden))
            add_material(world.member, **{**EVEN, "name": f"Bag {more} {number}"})  # type: ignore[arg-type]
        with CaptureQueriesContext(connection) as queries:
            answered(client, bed, material="bone_meal", use="bed", area_m2="4", litres="1")
        seen.append(len(queries))
    assert seen[0] == seen[1] <= 18
