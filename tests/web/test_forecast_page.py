"""The forecast of a site: what is told, by whom, how old, how right, and its thermometer."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import DayReading, ForecastSource, FrostNight, NightForecast, SensorAddress
from lifecycle.records.weather.sensors import new_address
from tests.conftest import World
from tests.factories import NOON, SiteFactory
from tests.reminders.climates import give_climate

SignIn = Callable[..., Client]
TODAY = NOON.date()
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/forecast"


def tell(world: World, ahead: int, low_c: float, **more: Any) -> NightForecast:
    given: dict[str, Any] = {
        "source": "daily", "issued_at": NOON - HOUR, "received_at": NOON - HOUR, **more,
    }  # fmt: skip
    return NightForecast.objects.create(
        garden=world.garden, site=world.site, night=TODAY + ahead * DAY, low_c=low_c, **given
    )


def text_of(client: Client, page: str) -> str:
    return client.get(page).content.decode()


def test_without_a_forecast_the_page_says_so(world: World, as_person: SignIn, page: str) -> None:
    text = text_of(as_person(world.member), page)
    assert "<h1>No forecast for tonight at Canal bank</h1>" in text
    assert "No forecast is known for the coming nights. Type the lows" in text
    assert "Nothing is chosen: the nights are as members type them." in text
    assert "Choose the source" not in text
    assert "Type the lows" not in text_of(as_person(world.committee), page)


def test_each_night_stands_with_its_numbers_and_source(
    world: World, as_person: SignIn, page: str
) -> None:
    told = tell(world, 0, -1.0, low_at=NOON + 17 * HOUR, wind_m_s=1.25, cloud_percent=20.0)
    tell(world, 1, 4.0, source="gridpoint")
    tell(world, 9, 9.0)
    FrostNight.objects.create(
        garden=world.garden, site=world.site, night=TODAY, forecast=told, expected_c=-1.0,
        sd_c=2.0, kill_chance=0.2, harm_chance=0.7, kill_ratio=0.05, harm_ratio=0.2, judged_at=NOON,
    )  # fmt: skip
    text = text_of(as_person(world.member), page)
    assert "<h1>Tonight at Canal bank: a low of −1 °C</h1>" in text
    for words in ("Wednesday 14 October", "05:00", "1.2 m/s", "20 %", "7 in 10 to harm, 2 in 10"):
        assert words in text, words
    assert "Forecast of 11:00 on 14 October, Open-Meteo.com (CC BY 4.0)" in text
    assert 'href="https://creativecommons.org/licenses/by/4.0/"' in text
    assert "Forecast by National Weather Service" in text
    assert "9 °C" not in text
    world.member.person.temperature, world.member.person.length = "F", "in"
    world.member.person.save()
    text = text_of(as_person(world.member), page)
    assert "a low of 30 °F" in text
    assert "3 mph" in text


def test_an_old_forecast_is_said_to_be_old(world: World, as_person: SignIn, page: str) -> None:
    tell(world, 0, 3.0, issued_at=NOON - 7 * HOUR)
    text = text_of(as_person(world.member), page)
    assert "<h1>Tonight at Canal bank: a low of 3 °C, told 7 hours ago</h1>" in text
    assert "This forecast is old. Nothing urgent is sent on it" in text


def test_a_failing_source_is_said_in_its_own_sentence(
    world: World, as_person: SignIn, page: str
) -> None:
    source = ForecastSource.objects.create(
        garden=world.garden, site=world.site, kind="daily", set_at=NOON, tried_at=NOON,
        worked_at=NOON - 5 * HOUR, last_error="The forecast service could not be reached.",
    )  # fmt: skip
    text = text_of(as_person(world.member), page)
    assert "The forecast service could not be reached. Last tried 14 October at 12:00" in text
    assert "it last worked 14 October at 07:00" in text
    ForecastSource.objects.filter(pk=source.pk).update(worked_at=None)
    assert "it has not worked yet" in text_of(as_person(world.member), page)
    ForecastSource.objects.filter(pk=source.pk).update(last_error="")
    assert "It is asked within minutes." in text_of(as_person(world.member), page)


def test_a_coordinator_chooses_the_source(world: World, as_person: SignIn, page: str) -> None:
    client = as_person(world.coordinator)
    assert "Choose the source" in text_of(client, page)
    answer = client.post(page, {"act": "source", "kind": "gridpoint", "file_name": ""})
    assert answer.status_code == 302
    assert ForecastSource.objects.get().kind == "gridpoint"
    bad = client.post(page, {"act": "source", "kind": "file", "file_name": "../x"})
    assert bad.status_code == 422
    assert "Give the name of a CSV file" in bad.content.decode()
    assert client.post(page, {"act": "source", "kind": "moon"}).status_code == 422
    assert client.post(page, {"act": "nothing"}).status_code == 200


@pytest.mark.parametrize("role", ["member", "committee"])
@pytest.mark.parametrize("act", ["source", "sensor", ""])
def test_others_only_read(world: World, as_person: SignIn, page: str, role: str, act: str) -> None:
    client = as_person(getattr(world, role))
    assert client.post(page, {"act": act, "kind": "typed"}).status_code == 403
    assert not ForecastSource.objects.exists()
    assert not SensorAddress.objects.exists()


def test_outsiders_find_nothing(world: World, as_person: SignIn, page: str) -> None:
    client = as_person(world.outsider)
    assert client.get(page).status_code == 404
    other = SiteFactory()
    inside = as_person(world.owner)
    assert inside.get(page.replace(f"/{world.site.pk}/", f"/{other.pk}/")).status_code == 404


def test_how_right_forecasts_were(world: World, as_person: SignIn, page: str) -> None:
    client = as_person(world.member)
    text = text_of(client, page)
    assert text.count("as published") == 4
    for back in range(1, 31):
        night = TODAY - back * DAY
        DayReading.objects.create(
            garden=world.garden, site=world.site, day=night + DAY, tmin_c=1.0, at=NOON
        )
        miss = 1.5 if back % 2 else 0.5
        tell(world, -back, 1.0 + miss, issued_at=NOON - back * DAY, lead_nights=0)
    text = text_of(client, page)
    assert (text.count("learned here"), text.count("as published")) == (1, 3)
    assert "1.0 °C colder than told" in text
    world.member.person.temperature = "F"
    world.member.person.save()
    assert "1.8 °F colder than told" in text_of(client, page)


def test_the_address_of_the_thermometer_is_for_coordinators(
    world: World, as_person: SignIn, page: str
) -> None:
    client = as_person(world.coordinator)
    assert client.post(page, {"act": "sensor"}).status_code == 302
    text = text_of(client, page)
    [address] = set(re.findall(r"http://127\.0\.0\.1:8000/sensor/\d+/[\w-]{24}", text))
    assert f"curl -d c=3.2 {address}" in text
    assert "Nothing was heard from it yet." in text
    said = Client(enforce_csrf_checks=True).post(address.partition(":8000")[2], {"c": "3.2"})
    assert said.content.decode() == "Kept 3.2 C at 2026-10-14T12:00Z.\n"
    text = text_of(client, page)
    assert "Last heard 14 October at 12:00." in text
    member = text_of(as_person(world.member), page)
    assert "Last heard 14 October" in member
    assert "/sensor/" not in member
    client.post(page, {"act": "sensor"})
    assert address not in text_of(client, page)


def test_queries_do_not_grow(world: World, as_person: SignIn, page: str) -> None:
    client = as_person(world.coordinator)
    new_address(world.owner, world.site, now=NOON)
    seen = []
    for size in (1, 6):
        for back in range(size):
            for ahead in range(7):
                tell(world, ahead, 3.0, issued_at=NOON - (back + 10 * size) * HOUR)
            tell(world, -back - 1, 3.0, issued_at=NOON - (back + size) * DAY, lead_nights=back % 4)
        with CaptureQueriesContext(connection) as queries:
            client.get(page)
        seen.append(len(queries))
    assert seen[0] == seen[1]
    assert seen[0] <= 15


def test_the_climate_page_leads_here_and_names_who_told(
    world: World, as_person: SignIn, page: str
) -> None:
    give_climate(world)
    for ahead in range(7):
        tell(world, ahead, 12.0)
    client = as_person(world.member)
    for name in ("climate", "planting-out"):
        text = text_of(client, page.replace("forecast", name))
        assert f'href="{page}"' in text
        assert "as told by Open-Meteo.com (CC BY 4.0)." in text


def test_last_nights_low_is_one_tap(world: World, as_person: SignIn, page: str) -> None:
    client = as_person(world.member)
    text = text_of(client, page)
    assert "what did the thermometer say?" in text
    address = f"{world.address}sites/{world.site.pk}/overnight-low"
    assert f'action="{address}"' in text
    answer = client.post(address, {"low_c": "1,5", "back": "forecast"})
    assert answer["Location"] == page
    row = DayReading.objects.get()
    assert (row.day, row.tmin_c, row.by) == (TODAY, 1.5, world.member.person)
    assert "what did the thermometer say?" not in text_of(client, page)
    assert client.post(address, {"low_c": "1"})["Location"] == world.address
