"""Everything that is told of a frost night, in the reader's words."""

from datetime import UTC, datetime, timedelta

import pytest

from lifecycle.handbook import CAUTIONS, PROTECTIONS
from lifecycle.models import Ask, FrostBed, FrostNight, GardenCover
from lifecycle.records.secrets import new_nonce
from lifecycle.reminders.nights.frost_facts import (
    act_by,
    beds_of,
    cautions_of,
    frost_facts,
    materials_words,
    short_label,
    short_words,
)
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, VarietyFactory, a_plant
from tests.records.frosts import NIGHT, SUNSET, a_bed, a_night

pytestmark = pytest.mark.django_db


def cover(world: World, protection: str, pieces: int, kept_in: str = "") -> GardenCover:
    return GardenCover.objects.create(
        garden=world.garden,
        site=world.site,
        protection=protection,
        pieces=pieces,
        area_m2=4.0,
        kept_in=kept_in,
    )


@pytest.fixture
def night(world: World) -> FrostNight:
    return a_night(world)


def test_all_there_is_to_say(world: World, night: FrostNight) -> None:
    bench = PlaceFactory(site=world.site, kind="bench", name="Wall", position=9)
    tomato = VarietyFactory(garden=world.garden, species="tomato_cherry")
    a_plant(world.member, bench, name="Pot", variety=tomato)
    a_bed(night, bench, action="bring_in", plants=2, protection="", pieces=0)
    a_bed(night, world.bed, plants=6, pieces=3)
    far = PlaceFactory(site=world.site, name="Far bed", position=11)
    a_bed(night, far, action="leave", plants=0, protection="", pieces=0)
    cover(world, "cover_light", 2, "shed 2")
    Ask.objects.create(
        garden=world.garden, frost_night=night, person=world.member.person, rung=1,
        state=Ask.State.ACCEPTED, nonce=new_nonce(), asked_at=NOON, answer_by=NOON,
    )  # fmt: skip
    facts = frost_facts(night, world.member.person, NOON)
    assert (facts.garden, facts.site, facts.night) == ("Northfield", "Canal bank", NIGHT)
    assert facts.verdict == "Frost likely tonight: cover 6 plants in 1 bed and bring in 2 by 17:00"
    assert (facts.beds, facts.plants, facts.places) == ("Bed 3 and Wall", 8, 2)
    assert facts.work == "cover 6 plants in 1 bed and bring in 2"
    assert (facts.low, facts.low_both, facts.low_at) == ("−1 °C", "−1 °C (30 °F)", "05:00")
    assert (facts.chance, facts.limit) == ("7 in 10", "0 °C")
    assert facts.impact == "Uncovered peppers and tomatoes will die."
    assert (facts.act_by, facts.sunset) == ("17:00", "17:30")
    assert (facts.act_by_at, facts.sunset_at) == (SUNSET - timedelta(minutes=30), SUNSET)
    assert facts.materials == "3 of Light row cover: shed 2"
    assert facts.short == "1 of Light row cover missing"
    assert (facts.people_needed, facts.accepted) == (1, 1)
    assert facts.source.startswith("Forecast typed in at 09:00")
    assert facts.calm == "Still air: covers work"
    assert facts.cautions == (CAUTIONS["lifting"],)
    assert facts.stale is False


def test_where_only_harm_is_to_be_feared(world: World, night: FrostNight) -> None:
    a_bed(night, world.bed)
    night.kill_chance, night.harm_chance = 0.0499, 0.3
    facts = frost_facts(night, world.member.person, NOON)
    assert (facts.chance, facts.limit) == ("3 in 10", "2.2 °C")
    assert facts.impact == "Uncovered peppers may be harmed."
    assert facts.verdict.startswith("Frost may come tonight")
    night.kill_chance = 0.05
    assert frost_facts(night, world.member.person, NOON).limit == "0 °C"


def test_in_fahrenheit_and_on_another_day(world: World, night: FrostNight) -> None:
    a_bed(night, world.bed)
    person = world.member.person
    person.temperature = "F"
    facts = frost_facts(night, person, NOON - timedelta(1))
    assert (facts.low, facts.low_both, facts.limit) == ("30 °F", "30 °F (−1 °C)", "32 °F")
    assert facts.verdict.startswith("Frost likely on Wednesday: ")


def test_nothing_to_do_and_nothing_known(world: World) -> None:
    night = a_night(world, forecast=None, sunset_at=None, low_at=None)
    facts = frost_facts(night, world.member.person, NOON)
    assert facts.verdict == "No frost to fear tonight"
    assert (facts.beds, facts.work, facts.impact, facts.materials, facts.short) == ("",) * 5
    assert (facts.act_by, facts.sunset, facts.low_at, facts.source) == ("dusk", "", "", "")
    assert (facts.act_by_at, act_by(night)) == (None, None)


def test_hours_are_those_of_the_site(world: World, night: FrostNight) -> None:
    night.site.time_zone = "America/Denver"
    a_bed(night, world.bed)
    facts = frost_facts(night, world.member.person, datetime(2026, 10, 14, 18, tzinfo=UTC))
    assert (facts.act_by, facts.sunset, facts.low_at) == ("11:00", "11:30", "23:00")


def test_materials_are_added_up_by_kind(world: World, night: FrostNight) -> None:
    for number, (protection, pieces) in enumerate(
        (("cover_light", 2), ("blanket", 1), ("cover_light", 3))
    ):
        place = PlaceFactory(site=world.site, name=f"P{number}", position=number)
        a_bed(night, place, protection=protection, pieces=pieces)
    covers = [cover(world, "cover_light", 3, "shed 2"), cover(world, "cover_light", 2, "barn")]
    beds = beds_of(night)
    assert materials_words(beds, covers) == (
        "5 of Light row cover: shed 2; 1 of Dry blanket or sheet"
    )
    assert short_words(beds, covers) == "1 of Dry blanket or sheet missing"
    assert short_words(beds, [*covers, cover(world, "blanket", 1)]) == ""


def test_cautions_go_with_what_is_carried_and_lit(world: World, night: FrostNight) -> None:
    beds = [
        FrostBed(action="cover", protection="lights_cloth"),
        FrostBed(action="cover", protection="lights"),
        FrostBed(action="cover", protection=""),
    ]
    assert cautions_of(beds) == (CAUTIONS["lights"], CAUTIONS["heat"])
    assert cautions_of([FrostBed(action="bring_in")]) == (CAUTIONS["lifting"],)
    assert cautions_of([]) == ()


@pytest.mark.parametrize("protection", sorted(PROTECTIONS))
def test_a_short_name_is_a_name(protection: str) -> None:
    name = short_label(protection)
    assert PROTECTIONS[protection].label.startswith(name)
    assert "," not in name
    assert 3 < len(name) < 45
