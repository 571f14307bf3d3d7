"""The bed page's water, rotation and room, and the forms behind them."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from math import cos

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.care.bed_water import bed_water
from lifecycle.care.bed_weather import SiteAir
from lifecycle.life.kinds import Kind
from lifecycle.models import BedYear, DayReading, Person, Place
from lifecycle.records.ground.ground import note_year, set_ground
from lifecycle.records.weather.readings import type_reading
from lifecycle.records.weather.weather import add_record
from lifecycle.web.ground.bed_words import water_words
from tests.care.beds import DAY, standing
from tests.care.test_bed_water import AIR, BED
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, SiteFactory, VarietyFactory, a_plant, an_entry

SignIn = Callable[..., Client]
YESTERDAY = NOON.date() - timedelta(1)


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def lead(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def bed(world: World) -> str:
    return f"{world.address}beds/{world.bed.pk}"


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def a_sized_bed(world: World) -> None:
    set_ground(
        world.coordinator,
        world.bed,
        length_m=3.0,
        width_m=1.2,
        depth_cm=15.0,
        soil="loam",
        mulched=True,
        wire=True,
    )


def test_a_bed_without_details_still_says_when_to_water(
    world: World, client: Client, bed: str
) -> None:
    an_entry(world.member, world.plant, Kind.WATERED, happened_on=YESTERDAY)
    text = text_of(client, bed)
    assert "<h2>Water</h2>" in text
    assert "Highs of the site are not known" in text
    assert "The soil is not stated" in text
    assert "How long and wide the bed is nobody has said" in text
    assert 'aria-label="Water left in the bed, day by day"' in text


def test_a_bed_with_details_gives_millimetres_and_litres(
    world: World, client: Client, bed: str
) -> None:
    a_sized_bed(world)
    text = text_of(client, bed)
    said = re.search(r"<p>Water (\d+) mm, ([\d.]+) litres for this bed, (.*?)\.</p>", text)
    assert said is not None, text
    assert float(said[2]) == pytest.approx(float(said[1]) * 3.6, abs=2)
    assert "Roots end at the wire, 15 cm deep." in text
    assert "3 m by 1.2 m (3.6 m²), 15 cm deep" in text
    assert "mulched, wire below" in text


def test_a_reader_in_inches_sees_inches(world: World, client: Client, bed: str) -> None:
    a_sized_bed(world)
    Person.objects.filter(pk=world.member.person_id).update(length="in", temperature="F")
    text = text_of(client, bed)
    assert re.search(r"Water [\d.]+ in, [\d.]+ gal for this bed", text)
    assert "9.8 ft by 3.9 ft (39 sq ft), 6 in deep" in text


def test_an_empty_bed_has_no_water_and_a_bench_nothing_of_it(world: World, client: Client) -> None:
    empty = PlaceFactory(site=world.site)
    text = text_of(client, f"{world.address}beds/{empty.pk}")
    assert "<h2>Water</h2>" not in text
    assert "<h2>Rotation</h2>" in text
    assert "Nothing is on record here yet." in text
    bench = text_of(client, f"{world.address}beds/{world.bench.pk}")
    assert "<h2>Rotation</h2>" not in bench
    assert "<h2>Room</h2>" not in bench


def test_the_strip_names_the_weekday_of_a_watering_within_the_week(world: World) -> None:
    person = world.member.person

    def said(missing_days: int, *, air: SiteAir = AIR) -> str:
        water = bed_water(BED, [standing()], [(DAY - timedelta(missing_days), None)], {}, air, DAY)
        assert water is not None
        return str(water_words(water, DAY, person)["sentence"])

    assert re.fullmatch(r"Water \{[\d.]+ mm\}, \{[\d.]+ litre\} for this bed, by \w+day\.", said(3))
    assert said(30).endswith("for this bed, today.")
    cool = SiteAir(45.0, (4.0,) * 365, (9.0,) * 365)
    assert re.search(r", by \{2026-07-\d\d\}\.$", said(3, air=cool)) or said(
        3, air=cool
    ).startswith("No water is needed before {2026-07-14}.")


def test_rain_typed_by_a_member_moves_the_watering(world: World, client: Client, bed: str) -> None:
    a_sized_bed(world)
    before = text_of(client, bed)
    address = f"{world.address}sites/{world.site.pk}/reading?back=bed-{world.bed.pk}"
    assert 'name="rain_mm"' in text_of(client, address)
    sent = client.post(
        address, {"day": "2026-10-13", "rain_mm": "45", "tmin_c": "8", "tmax_c": "19"}
    )
    assert sent["Location"] == bed
    row = DayReading.objects.get()
    assert (row.rain_mm, row.tmin_c, row.tmax_c) == (45, 8, 19)
    assert text_of(client, bed) != before
    assert "13 October</th><td>45 mm</td>" in text_of(client, bed)


def test_rain_in_inches_and_degrees_fahrenheit(world: World, client: Client) -> None:
    Person.objects.filter(pk=world.member.person_id).update(length="in", temperature="F")
    address = f"{world.address}sites/{world.site.pk}/reading"
    client.post(address, {"day": "2026-10-13", "rain_mm": "0.5", "tmin_c": "50", "tmax_c": ""})
    row = DayReading.objects.get()
    assert (row.rain_mm, row.tmin_c, row.tmax_c) == (pytest.approx(12.7), pytest.approx(10), None)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"rain_mm": "-1"}, "Rain: give 0 to 1000 mm."),
        ({"rain_mm": "1e6"}, "Rain: give 0 to 1000 mm."),
        ({"rain_mm": "\x00"}, "Rain: give 0 to 1000 mm."),
        ({"tmin_c": "20", "tmax_c": "10"}, "The high of the day is below its low."),
        ({}, "Give the rain, the low or the high of the day."),
        ({"rain_mm": "1", "day": "2026-10-15"}, "has not come yet"),
        ({"rain_mm": "1", "day": "soon"}, "The date was not understood."),
    ],
)
def test_a_reading_that_cannot_be_is_answered_at_its_field(
    world: World, client: Client, typed: dict[str, str], said: str
) -> None:
    address = f"{world.address}sites/{world.site.pk}/reading"
    answer = client.post(address, {"day": "2026-10-13", **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not DayReading.objects.exists()


def test_a_coordinator_sets_size_and_soil(world: World, lead: Client, bed: str) -> None:
    good = {"length_m": "10 ft", "width_m": "120 cm", "depth_cm": "6 in", "soil": "loam"}
    assert lead.post(f"{bed}/ground", {**good, "wire": "on"})["Location"] == bed
    kept = Place.objects.get(pk=world.bed.pk)
    assert kept.length_m == pytest.approx(3.048)
    assert kept.width_m == pytest.approx(1.2)
    assert kept.depth_cm == pytest.approx(15.24)
    assert (kept.soil, kept.wire, kept.mulched) == ("loam", True, False)
    assert 'value="3.048"' in text_of(lead, f"{bed}/ground")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"length_m": "0"}, "Length: give 0.1 to 200 m."),
        ({"width_m": "-3"}, "Width: give 0.1 to 200 m."),
        ({"length_m": "wide"}, "Length: give 0.1 to 200 m."),
        ({"length_m": ""}, "Length: give 0.1 to 200 m."),
        ({"depth_cm": "9" * 5000}, "Depth of its soil: give 5 to 200 cm."),
        ({"soil": "cheese"}, "Soil: choose one from the list."),
        ({"wire": "on"}, "say how deep the soil above the wire is"),
    ],
)
def test_a_bed_of_no_size_is_answered_at_its_field(
    world: World, lead: Client, bed: str, typed: dict[str, str], said: str
) -> None:
    good = {"length_m": "3", "width_m": "1.2", "depth_cm": "", "soil": ""}
    answer = lead.post(f"{bed}/ground", {**good, **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_pots_have_no_size_and_soil(world: World, lead: Client) -> None:
    answer = lead.post(
        f"{world.address}beds/{world.bench.pk}/ground", {"length_m": "1", "width_m": "1"}
    )
    assert answer.status_code == 422
    assert "is not a bed" in answer.content.decode()


def test_rotation_shows_the_record_the_notes_and_what_may_follow(
    world: World, client: Client, lead: Client, bed: str
) -> None:
    sent = lead.post(f"{bed}/years", {"year": "2025", "family": "fabaceae", "note": "Broad beans"})
    assert sent["Location"] == f"{bed}/years"
    note_year(world.coordinator, world.bed, year=2024, family="solanaceae", note="", now=NOON)
    text = text_of(client, bed)
    assert re.search(r'<th scope="row">2026</th><td>Nightshade family[^<]*</td><td>Pepper', text)
    assert re.search(r"2025</th><td>Pea family[^<]*</td><td>noted: Broad beans", text)
    assert "some nitrogen is left" in text
    follows = text.split("In 2027 may follow:")[1].split("</p>")[0]
    assert "Grass family" in follows
    assert "Nightshade" not in follows
    assert "Pea family" not in follows
    assert re.search(r"Nightshade[^<]*</th><td>2026</td><td>2030</td>", text)
    assert "A family stays away for 3 years." in text


def test_a_kept_pepper_against_the_rotation(world: World, client: Client, bed: str) -> None:
    note_year(world.coordinator, world.bed, year=2025, family="solanaceae", note="", now=NOON)
    assert "has stood here since 2025, and the rotation wants it moved" in text_of(client, bed)


def test_a_noted_year_is_taken_back(world: World, lead: Client, bed: str) -> None:
    row = note_year(world.coordinator, world.bed, year=2025, family="fabaceae", note="", now=NOON)
    assert "2025: Pea family" in text_of(lead, f"{bed}/years")
    for wrong in ("", "x", "0", "9" * 30, "\x00"):
        assert lead.post(f"{bed}/years", {"act": "forget", "row": wrong}).status_code == 404
    lead.post(f"{bed}/years", {"act": "forget", "row": row.pk})
    assert not BedYear.objects.exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"year": "2027"}, "Growing year: give a whole number from 1990 to 2026."),
        ({"year": "x"}, "Growing year: give a whole number from 1990 to 2026."),
        ({"family": "rosaceae"}, "Family: choose one from the list."),
        ({"note": "x" * 201}, "Note: keep it to 200 characters"),
    ],
)
def test_a_year_that_cannot_be_is_answered_at_its_field(
    world: World, lead: Client, bed: str, typed: dict[str, str], said: str
) -> None:
    answer = lead.post(f"{bed}/years", {"year": "2025", "family": "fabaceae", "note": "", **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_room_says_what_is_free_and_what_still_fits(world: World, client: Client, bed: str) -> None:
    a_sized_bed(world)
    text = text_of(client, bed)
    assert re.search(r"Plants take 0\.\d m²; 3\.\d m² is free\.", text)
    assert "<caption>Plants the free room takes, and the whole bed</caption>" in text
    for _ in range(40):
        a_plant(world.member, world.bed)
    assert "more than the bed has" in text_of(client, bed)


def test_picks_show_by_area(world: World, client: Client, bed: str) -> None:
    a_sized_bed(world)
    an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2026, 8, 1), quantity=1800.0)
    an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2025, 8, 1) + timedelta(365))
    assert "500 g picked a m² this growing year" in text_of(client, bed)


def test_tall_tomatoes_carry_the_remark_on_single_stems(
    world: World, client: Client, bed: str
) -> None:
    a_sized_bed(world)
    assert "single stems" not in text_of(client, bed)
    tall = VarietyFactory(garden=world.garden, species="tomato_indeterminate")
    a_plant(world.member, world.bed, variety=tall)
    text = text_of(client, bed)
    assert "300 tomatoes a year from 4.6 m²" in text
    assert "common practice, no source" in text


def test_the_sites_own_highs_are_used(world: World, client: Client, bed: str) -> None:
    days = [date(2016, 1, 1) + timedelta(n) for n in range(9 * 365)]
    warmth = [12 - 10 * cos((day.timetuple().tm_yday - 15) / 58) for day in days]
    rows = [f"{day},{low:.1f},{low + 9:.1f}" for day, low in zip(days, warmth, strict=True)]
    data = "\n".join(["date,tmin_c,tmax_c", *rows]).encode()
    add_record(world.coordinator, world.site, name="Station", data=data, units=None, now=NOON)
    text = text_of(client, bed)
    assert "Highs of the site are not known" not in text
    assert "without a low and a high follow the site" in text


def test_queries_do_not_grow_with_the_bed(world: World, client: Client, bed: str) -> None:
    a_sized_bed(world)
    seen = []
    for more in (3, 30):
        for number in range(more):
            plant = a_plant(world.member, world.bed, variety=VarietyFactory(garden=world.garden))
            an_entry(world.member, plant, Kind.WATERED, quantity=1.0)
            note_year(
                world.coordinator,
                world.bed,
                year=1990 + number,
                family="fabaceae",
                note="",
                now=NOON,
            )
            type_reading(
                world.member,
                world.site,
                day=YESTERDAY - timedelta(number),
                tmin_c=5.0,
                tmax_c=15.0,
                rain_mm=1.0,
                now=NOON,
            )
        with CaptureQueriesContext(connection) as queries:
            text_of(client, bed)
        seen.append(len(queries))
    assert seen[0] == seen[1]
    # place, plants, sowings, tasks; climate and choices; turns, waterings, readings, stays,
    # notes, picks; beside session, person and membership
    assert seen[0] <= 21


def test_rows_of_another_garden_cannot_be_reached(world: World, lead: Client) -> None:
    elsewhere = PlaceFactory()
    site = SiteFactory()
    for address in (
        f"beds/{elsewhere.pk}/ground",
        f"beds/{elsewhere.pk}/years",
        f"sites/{site.pk}/reading",
    ):
        assert lead.get(f"{world.address}{address}").status_code == 404
        assert lead.post(f"{world.address}{address}", {}).status_code == 404
