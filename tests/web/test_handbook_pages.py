"""Where it all comes from, and what is seen on a plant: pages of the handbook."""

import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.html import escape

from lifecycle.care.policy import SETTINGS
from lifecycle.handbook import CROPS, FACTS, SOURCES, SYMPTOMS
from lifecycle.models import Person, SiteSetting, Variety
from lifecycle.web.handbook_pages.handbook_topics import FACT_TOPICS, facts_of, titles
from lifecycle.web.handbook_pages.handbook_words import CROP_FACTS
from tests.conftest import World
from tests.factories import NOON, SiteFactory, VarietyFactory, a_plant

SignIn = Callable[..., Client]
TOPICS = list(titles())


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def read(client: Client, world: World, path: str) -> str:
    answer = client.get(f"{world.address}{path}")
    assert answer.status_code == 200
    text = answer.content.decode()
    assert len(text) < 90_000
    return text


def row(text: str, anchor: str) -> str:
    """Return one row of a table, without its markup."""
    found = re.search(rf'<tr role="row" id="{re.escape(anchor)}">(.*?)</tr>', text, re.DOTALL)
    assert found, anchor
    return " ".join(re.sub(r"<[^>]+>", " ", found[1]).split())


def wants(world: World, temperature: str, length: str) -> None:
    Person.objects.filter(pk=world.member.person_id).update(temperature=temperature, length=length)


def test_the_index_leads_to_every_topic(world: World, client: Client) -> None:
    text = read(client, world, "sources")
    for topic, title in titles().items():
        assert f'href="{world.address}sources/{topic}"' in text
        assert title in text


@pytest.mark.parametrize("topic", TOPICS)
def test_every_topic_opens(world: World, client: Client, topic: str) -> None:
    text = read(client, world, f"sources/{topic}")
    assert titles()[topic] in text
    anchors = re.findall(r'id="([^"]+)"', text)
    assert len(anchors) == len(set(anchors))


@pytest.mark.parametrize("path", ["sources/moon", "sources/crop-moon", "symptoms/moon"])
def test_what_is_not_there_is_not_found(world: World, client: Client, path: str) -> None:
    assert client.get(f"{world.address}{path}").status_code == 404


def test_every_fact_stands_in_one_topic() -> None:
    placed = [
        fact.key for topic in FACT_TOPICS for facts in facts_of(topic).values() for fact in facts
    ]
    assert sorted(placed) == sorted(FACTS)
    assert {name for crop in CROPS.values() for name in crop.facts} <= set(CROP_FACTS)


def test_a_value_shows_its_printed_unit_the_readers_the_mark_and_the_source(
    world: World, client: Client
) -> None:
    wants(world, "C", "cm")
    text = read(client, world, "sources/raising")
    assert row(text, "fact-plant_out.ready_night") == (
        "Ready night 55 °F (12.8 °C) Read in the source: N. Frillman, University of Illinois "
        "Extension educator, 2022 . Never a temperature under 55 F for peppers."
    )
    feed = read(client, world, "sources/feeding")
    assert "0.78 lb per 1,000 sq ft (3.8 g/m²) Worked out from" in row(
        feed, "fact-feed.side_dress_n"
    )
    assert "24 to 30 in (61 to 76 cm)" in row(
        read(client, world, "sources/crop-annuum"), "fact-row_spacing"
    )
    assert "31 Aug" in row(feed, "fact-feed.stop_in_ground")
    assert "1 in of water (25 mm)" in row(feed, "fact-water.weekly")
    wants(world, "F", "in")
    text = read(client, world, "sources/raising")
    assert "55 °F Read in" in row(text, "fact-plant_out.ready_night")
    assert "21 days Common practice, no source." in row(text, "fact-plant_out.late_after")
    assert "120 days Worked out." in row(text, "fact-topping.short_season")


def test_a_crop_shows_its_ranges_and_its_tables(world: World, client: Client) -> None:
    wants(world, "F", "in")
    text = read(client, world, "sources/crop-annuum")
    assert "8 to 10 weeks Read in the source" in row(text, "fact-sow_weeks")
    assert "10 °C (50 °F)" in row(text, "fact-chill_night")
    assert "55 % Read in the source" in row(text, "fact-germination_standard")
    assert "25 days" in row(text, "fact-emergence-15")
    assert "none comes up" in row(text, "fact-emergence-10")
    assert "98%" in row(text, "fact-normal-25")
    assert 'id="emergence"' not in read(client, world, "sources/crop-garlic")


def test_a_gardens_own_value_stands_beside_the_published_one(world: World, client: Client) -> None:
    wants(world, "C", "cm")
    Variety.objects.filter(pk=world.plant.variety_id).update(
        overrides={"spacing": 50.0, "ready_night": 14.0, "sow_weeks": 77.0}
    )
    stranger = VarietyFactory(name="Stranger")
    Variety.objects.filter(pk=stranger.pk).update(overrides={"spacing": 33.0})
    name = world.plant.variety.name
    text = read(client, world, f"sources/crop-{world.plant.variety.species}")
    spacing = row(text, "fact-spacing")
    assert "18 in (46 cm)" in spacing
    assert f"In this garden, {name}: 50 cm" in spacing
    assert f"In this garden, {name}: 14 °C" in row(text, "fact-ready_night")
    assert f"In this garden, {name}: 77 days" in row(text, "fact-sow_weeks")
    assert "Stranger" not in text


def test_an_own_value_shows_where_none_is_published(world: World, client: Client) -> None:
    wants(world, "C", "cm")
    variety = VarietyFactory(garden=world.garden, species="chinense", name="Old lantern")
    Variety.objects.filter(pk=variety.pk).update(overrides={"base_temp": 12.0})
    text = read(client, world, "sources/crop-chinense")
    assert "none In this garden, Old lantern: 12 °C Not published." in row(text, "fact-base_temp")


def test_disagreements_name_both_sources_and_what_each_site_chose(
    world: World, client: Client
) -> None:
    south = SiteFactory(garden=world.garden, name="South field")
    SiteSetting.objects.create(
        garden=world.garden, site=south, key="plant_out_night", value="50",
        by=world.owner.person, at=NOON,
    )  # fmt: skip
    text = read(client, world, "sources/settings")
    for setting in SETTINGS.values():
        assert escape(setting.question) in text
        for choice in setting.choices:
            assert f"#source-{choice.source}" in text
    part = text[text.index('id="plant_out_night"') : text.index('id="wake_anchor"')]
    warm, cool = part.split("<li>")[1:3]
    assert "Canal bank" in warm
    assert "South field" not in warm
    assert "South field" in cool


def test_every_source_is_listed_with_what_comes_from_it(world: World, client: Client) -> None:
    text = read(client, world, "sources/books")
    for key in SOURCES:
        assert f'id="source-{key}"' in text
    part = text[text.index('id="source-umass_tmv"') :]
    assert f'href="{world.address}symptoms"' in part[: part.index("</dd>")]


def test_covers_show_the_low_end_and_their_dangers(world: World, client: Client) -> None:
    wants(world, "F", "in")
    text = read(client, world, "sources/protections")
    assert "2 to 4 degrees F" in row(text, "fact-cover_light-0")
    assert "Weak source" in row(text, "fact-cover_light-2")
    assert "Count on 1.8 degrees F" in row(text, "fact-cover_light-sure")
    assert "not published" in row(text, "fact-mulch")
    assert "no bulb against cloth" in text


def test_materials_are_shown_as_ranges(world: World, client: Client) -> None:
    text = read(client, world, "sources/materials")
    assert "10 to 12 - 1.5 - 0" in row(text, "fact-blood_meal")
    assert "1 - 0.5 - 9" in row(text, "fact-kelp")


def test_symptoms_are_listed_and_open(world: World, client: Client) -> None:
    text = read(client, world, "symptoms")
    for key, symptom in SYMPTOMS.items():
        assert f'href="{world.address}symptoms/{key}"' in text
        page = read(client, world, f"symptoms/{key}")
        found = re.findall(r"<h2>\d+\. (.*?)</h2>", page)
        assert found == [escape(cause.label) for cause in symptom.causes]
        assert ("do not keep this plant" in page) is symptom.discard
        assert ("Fresh gloves for each group" in page) is symptom.discard


def test_a_symptom_of_a_plant_leads_to_its_record(world: World, client: Client) -> None:
    code = world.plant.code
    listed = read(client, world, f"symptoms?plant={code}")
    assert f"/symptoms/mosaic?plant={code}" in listed
    page = read(client, world, f"symptoms/mosaic?plant={code}")
    assert f'href="{world.address}plants/{code}/log/symptom?choice=mosaic"' in page
    assert "Read in the source" in page
    assert "log/symptom" not in read(client, world, "symptoms/mosaic")


def test_a_tomato_is_not_asked_about_the_rest_of_peppers(world: World, client: Client) -> None:
    tomato = VarietyFactory(garden=world.garden, species="tomato_cherry")
    plant = a_plant(world.member, world.bed, variety=tomato)
    listed = read(client, world, f"symptoms?plant={plant.code}")
    assert "/symptoms/mosaic" in listed
    assert "/symptoms/leaf_drop" not in listed
    assert "/symptoms/leaf_drop" in read(client, world, f"symptoms?plant={world.plant.code}")


@pytest.mark.parametrize("code", ["", "nope", "x" * 5000, "\x00\x00\x00\x00", "ZZZZZZ", "-"])
def test_a_plant_that_is_not_there_changes_nothing(world: World, client: Client, code: str) -> None:
    answer = client.get(f"{world.address}symptoms/wilt", {"plant": code})
    assert answer.status_code == 200
    assert "log/symptom" not in answer.content.decode()


def test_a_plant_of_another_garden_is_not_named(
    world: World, client: Client, as_person: SignIn
) -> None:
    outsider = as_person(world.outsider)
    for path in ("sources", "sources/settings", "symptoms", "symptoms/wilt"):
        assert outsider.get(f"{world.address}{path}").status_code == 404


@pytest.mark.parametrize(
    ("path", "queries"),
    [
        ("sources", 0),
        ("sources/crop-annuum", 1),
        ("sources/settings", 2),
        ("sources/books", 0),
        ("sources/winter", 0),
        ("symptoms?plant={code}", 1),
        ("symptoms/wilt?plant={code}", 1),
    ],
)
def test_number_of_queries_does_not_grow(
    world: World, client: Client, path: str, queries: int
) -> None:
    address = f"{world.address}{path.format(code=world.plant.code)}"
    seen = []
    for more in (2, 12):
        for _ in range(more):
            variety = VarietyFactory(garden=world.garden)
            Variety.objects.filter(pk=variety.pk).update(overrides={"spacing": 50.0})
            site = SiteFactory(garden=world.garden)
            SiteSetting.objects.create(
                garden=world.garden, site=site, key="pinch", value="leave",
                by=world.owner.person, at=NOON,
            )  # fmt: skip
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert client.get(address).status_code == 200
        seen.append(len(caught))
    # Session, person and membership come with every page.
    assert seen == [3 + queries, 3 + queries]
