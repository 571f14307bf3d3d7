"""The rehearsal of a site's record: a chart, the same as a table, and the two settings in words."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.care.rehearsal import RehearsedYear
from lifecycle.care.rehearsal_summary import RehearsalSummary, Spread
from lifecycle.models import Site, WeatherRecord
from lifecycle.records.weather.weather import add_record
from lifecycle.web.weather.rehearsal import _sentences
from lifecycle.web.weather.rehearsal_chart import rehearsal_chart
from tests.agronomy.made_up_records import cosine_year, csv
from tests.conftest import World
from tests.factories import NOON

SignIn = Callable[..., Client]
FAHRENHEIT = "\n".join(
    ["date,tmin,tmax"]
    + [
        f"{line.split(',')[0]},{float(line.split(',')[1]) * 1.8 + 32:.1f},"
        f"{float(line.split(',')[2]) * 1.8 + 32:.1f}"
        for line in csv(cosine_year(first="2004-01-01", last="2015-12-31"))[1:]
    ]
)


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/rehearsal"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def give_record(world: World, years: int = 12, **more: object) -> WeatherRecord:
    lines = csv(cosine_year(first="2004-01-01", last=f"{2003 + years}-12-31", **more))
    return add_record(
        world.owner,
        world.site,
        name="Station 7",
        data="\n".join(lines).encode(),
        units=None,
        now=NOON,
    )


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_without_a_record_it_leads_to_the_climate(client: Client, page: str, world: World) -> None:
    text = text_of(client, page)
    assert "Canal bank has none yet" in text
    assert f"sites/{world.site.pk}/climate" in text
    assert "<svg" not in text


def test_a_short_record_gets_a_sentence(client: Client, page: str, world: World) -> None:
    give_record(world, years=4)
    text = text_of(client, page)
    assert "The record has 4 whole years; a rehearsal needs 11" in text
    assert "<svg" not in text


def test_every_year_is_a_row_of_the_chart_and_of_the_table(
    client: Client, page: str, world: World
) -> None:
    give_record(world)
    text = text_of(client, page)
    assert text.count("p-growing") >= 12
    rows = re.findall(r'<tr><th scope="row">(\d{4})</th>', text)
    assert rows == [str(year) for year in range(2015, 2003, -1)]
    assert "Time out and cold nights, year by year" in text
    assert "Peppers, taken in before the cold" in text


def test_the_two_settings_are_compared_in_words(client: Client, page: str, world: World) -> None:
    give_record(world)
    text = text_of(client, page)
    assert "Nights of 55 °F (12.8 °C), the choice of this site" in text
    assert "Nights of 50 °F (10 °C)<" in text
    assert text.index("Nights of 55") < text.index("Nights of 50")
    assert text.count("In 12 years they would have gone out") == 2
    assert text.count("at or below 32 °F (0 °C) would have met a plant left uncovered") == 2
    assert f"sites/{world.site.pk}/settings" in text


def test_another_crop_and_another_winter(client: Client, page: str, world: World) -> None:
    give_record(world)
    text = text_of(client, f"{page}?crop=tomato&winter=ground")
    assert "Tomatoes, left in the ground" in text
    assert "stays out" in text
    assert "the choice of this site" not in text
    assert text.count("In 11 years they would have gone out") == 1
    assert "Left out, with more than five nights missing: 2015." in text
    assert " more</td>" in text  # a winter's freezes are not listed one by one


@pytest.mark.parametrize("query", ["crop=fig", "winter=moon", "crop=&winter=", "crop=%00&x=1"])
def test_an_odd_address_shows_what_is_usual(
    client: Client, page: str, world: World, query: str
) -> None:
    give_record(world)
    assert "Peppers, taken in before the cold" in text_of(client, f"{page}?{query}")


def test_zone_nine_stays_in_the_ground(client: Client, page: str, world: World) -> None:
    give_record(world, mean=18.0, swing=8.0)
    assert "Peppers, left in the ground" in text_of(client, page)


def test_a_file_whose_units_were_stated_is_read_the_same_again(
    client: Client, page: str, world: World
) -> None:
    record = add_record(
        world.owner,
        world.site,
        name="In F",
        data=FAHRENHEIT.encode(),
        units="F",
        now=NOON,
    )
    assert record.climate["record"]["last"] == "2015-12-31"
    in_f = text_of(client, page).replace("In F", "Station 7")
    give_record(world)
    assert re.findall(r"<td>[^<]*</td>", in_f) == re.findall(
        r"<td>[^<]*</td>", text_of(client, page)
    )


def test_a_file_that_no_longer_fits_its_climate_is_asked_for_again(
    client: Client, page: str, world: World
) -> None:
    record = give_record(world)
    climate = {**record.climate, "curve_c": [0.0] * 365}
    WeatherRecord.objects.filter(pk=record.pk).update(climate=climate)
    assert "Send the station file again." in text_of(client, page)


def test_the_south(client: Client, page: str, world: World) -> None:
    Site.objects.filter(pk=world.site.pk).update(latitude=-34.0, year_starts_in=7)
    world.site.refresh_from_db()
    give_record(world, south=True)
    text = text_of(client, page)
    rows = re.findall(r'<tr><th scope="row">(\d{4})</th>', text)
    assert rows == [str(year) for year in range(2014, 2003, -1)]


def test_outsiders_find_nothing_and_nobody_writes(
    world: World, page: str, as_person: SignIn
) -> None:
    assert as_person(world.outsider).get(page).status_code == 404
    assert as_person(world.owner).post(page).status_code == 405
    assert as_person(world.committee).get(page).status_code == 200
    assert as_person(world.owner).get(page.replace("rehearsal", "rehearsal9")).status_code == 404


def test_the_queries_do_not_grow_with_the_record(client: Client, page: str, world: World) -> None:
    counts = []
    for years in (11, 14):
        WeatherRecord.objects.filter(site=world.site).delete()
        give_record(world, years=years)
        with CaptureQueriesContext(
            connection,
        ) as found:
            text_of(client, page)
        counts.append(len(found))
    assert counts[0] == counts[1]


def test_sentences_of_a_summary() -> None:
    summary = RehearsalSummary(
        years=12, left_out=0, not_planted=1, plant_out=Spread((5, 2), (5, 9), (6, 1)),
        lift=Spread((9, 9), (9, 9), (9, 9)), chilled_nights=1, chilled_years=1, frozen_nights=3,
        frozen_in_spring=1, frozen_years=2, protected_nights=4, days_waited=1.0,
    )  # fmt: skip
    assert _sentences(summary) == [
        "In 12 years they would have gone out between 2 May and 1 Jun, on 9 May in the middle "
        "year.",
        "In 1 year the nights never let them out.",
        "They would have come in on 9 Sep.",
        "3 nights at or below 32 °F (0 °C) would have met a plant left uncovered, in 2 years; "
        "1 before midsummer.",
        "1 night would have chilled it, and 4 nights called for a cover.",
        "Waiting cost 1 day in the middle year.",
    ]
    calm = replace(
        summary, not_planted=0, lift=None, plant_out=None, chilled_nights=0, frozen_nights=0,
        frozen_in_spring=0, frozen_years=0, days_waited=0.0,
    )  # fmt: skip
    assert _sentences(calm) == [
        "No night at or below 32 °F (0 °C) would have met a plant left uncovered.",
        "No night would have chilled it, and 4 nights called for a cover.",
        "Waiting cost no day in the middle year.",
    ]
    autumn = _sentences(replace(summary, frozen_in_spring=0, days_waited=2.5))
    assert autumn[3].endswith("in 2 years; none before midsummer.")
    assert autumn[5] == "Waiting cost 2.5 days in the middle year."
    assert len(_sentences(replace(summary, days_waited=None))) == 5


# The chart


def lived(year: int, out: date | None, until: date, **more: object) -> RehearsedYear:
    nights = {"chilled": (), "frozen": (), "protected": (), **more}
    return RehearsedYear(
        year=year, plant_out=out, lift=until, until=until, could_have=None, days_waited=None,
        midsummer=date(year, 8, 1), **nights,
    )  # fmt: skip


def bars(svg: str, css: str) -> list[tuple[float, ...]]:
    found = re.findall(r'<rect x="(.*?)" y="(.*?)" width="(.*?)" height="(.*?)" class="(.*?)"', svg)
    return [tuple(map(float, each[:4])) for each in found if each[4] == css]


def test_bars_lie_by_the_day_from_the_month_of_the_first_planting() -> None:
    svg = rehearsal_chart(
        [
            lived(2001, date(2001, 5, 11), date(2001, 8, 8)),
            lived(2002, None, date(2002, 8, 8)),
            lived(2003, date(2003, 6, 20), date(2003, 8, 8), chilled=(date(2003, 6, 20),)),
        ]
    )
    # The newest year on top; 100 days from 1 May at 46 to 334, 2.88 a day.
    assert bars(svg, "p-growing") == [(190.0, 3, 144.0, 8), (74.8, 39, 259.2, 8)]
    assert bars(svg, "p-cold") == [(190.0, 12, 2.9, 3)]
    assert re.findall(r">([A-Z][a-z]{2})<", svg) == ["May", "Jun", "Jul", "Aug"]
    assert 'x1="46.0" y1="0" x2="46.0" y2="54"' in svg
    assert 'x1="135.3"' in svg
    assert ">2002<" in svg
    assert svg.index(">2003<") < svg.index(">2001<")


def test_a_year_in_the_ground_names_every_second_month() -> None:
    svg = rehearsal_chart([lived(2001, date(2001, 11, 11), date(2002, 11, 10))])
    assert re.findall(r">([A-Z][a-z]{2})<", svg) == ["Nov", "Jan", "Mar", "May", "Jul", "Sep",
                                                      "Nov"]  # fmt: skip
    assert svg.count("grid") == 13


def test_a_planting_after_new_year_lies_in_its_own_row() -> None:
    svg = rehearsal_chart([lived(2001, date(2002, 1, 1), date(2002, 4, 10))])
    assert bars(svg, "p-growing") == [(46.0, 3, 288.0, 8)]


def test_nights_that_follow_each_other_are_one_block() -> None:
    cold = (date(2001, 5, 1), date(2001, 5, 2), date(2001, 5, 3), date(2001, 5, 5))
    year = lived(2001, date(2001, 5, 1), date(2001, 8, 8), frozen=cold)
    assert bars(rehearsal_chart([year]), "mark") == [(46.0, 1, 8.6, 15), (57.5, 1, 2.9, 15)]


def test_a_single_night_of_a_long_year_is_still_seen() -> None:
    night = (date(2002, 1, 1),)
    year = lived(2001, date(2001, 5, 1), date(2002, 4, 30), frozen=night)
    assert bars(rehearsal_chart([year]), "mark")[0][2] == 2.5


def test_nothing_planted_draws_no_bar() -> None:
    assert bars(rehearsal_chart([lived(2001, None, date(2001, 9, 7))]), "p-growing") == []
    assert "svg" in rehearsal_chart([])
