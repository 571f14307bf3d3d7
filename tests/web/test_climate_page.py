"""A site's climate: the basis in use, a station's file, typed dates, the next seven nights."""

from collections.abc import Callable
from datetime import date
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from lifecycle.models import Person, SevenNightLows, Task, TypedClimate, WeatherRecord
from tests.agronomy.made_up_records import cosine_year, csv
from tests.conftest import World
from tests.factories import a_sowing

SignIn = Callable[..., Client]


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/climate"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


def station(first: str = "1996-01-01") -> SimpleUploadedFile:
    lines = csv(cosine_year(first=first, last="2025-12-31"))
    return SimpleUploadedFile("station.csv", "\n".join(lines).encode())


def test_nothing_known_leads_to_what_is_missing(client: Client, page: str) -> None:
    text = client.get(page).content.decode()
    assert "The dates of Canal bank are not known yet" in text
    assert "No daily record yet." in text
    assert "Send a station file" in text


def test_station_file_is_computed_and_plans_follow(client: Client, page: str, world: World) -> None:
    a_sowing(world.member, world.bench, happened_on=date(2026, 10, 1))
    answer = client.post(page, {"act": "record", "record-file": station()}, follow=True)
    text = answer.content.decode()
    assert "computed from the site&#x27;s daily record" in text
    assert "station.csv: 1 January 1996 to 31 December 2025" in text
    assert text.count('<svg viewBox="0 0 340') == 2
    assert "32 °F (0.0 °C)" in text
    assert "Mean night low in the middle of each month" in text
    assert "Hemisphere from the latitude given" in text
    assert Task.objects.exists()
    assert "style=" not in text.replace("<style", "")


def test_short_record_gives_way_to_typed_dates(client: Client, page: str) -> None:
    client.post(page, {"act": "record", "record-file": station("2018-01-01")})
    assert "short daily record" in client.get(page).content.decode()
    typed = {"typed-last_freeze": "10 April", "typed-first_freeze": "Nov 1"}
    text = client.post(page, {"act": "typed", **typed}, follow=True).content.decode()
    assert "are typed in by a member" in text
    assert "10 Apr" in text
    assert "From the daily record" in text
    found = TypedClimate.objects.get()
    assert (found.last_freeze, found.first_freeze) == ("04-10", "11-01")


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "the file is empty"),
        (b"hello", "problem"),
        (b"\x00\xff" * 5000, "problem"),
        (b"\x1f\x8b broken", "problem"),
        (b"date,tmin,tmax\n2020-01-01,1,2\n", "problem"),
    ],
)
def test_bad_files_get_a_sentence(client: Client, page: str, data: bytes, sentence: str) -> None:
    file = SimpleUploadedFile("x.csv", data)
    answer = client.post(page, {"act": "record", "record-file": file})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert 'href="#id_record-file"' in answer.content.decode()
    assert not WeatherRecord.objects.exists()


def test_missing_file_and_odd_units(client: Client, page: str) -> None:
    missing = client.post(page, {"act": "record", "record-units": "K"})
    text = missing.content.decode()
    assert "Station file: choose a file." in text
    assert "Temperatures in the file: choose one from the list." in text


@pytest.mark.parametrize("value", ["32 May", "x", "\x00", "9" * 5000, "13-45"])
def test_bad_days_of_the_year_get_a_sentence(client: Client, page: str, value: str) -> None:
    answer = client.post(page, {"act": "typed", "typed-last_freeze": value})
    assert answer.status_code == 422
    assert "give a day and a month, such as 12 May." in answer.content.decode()


def test_bad_zone_gets_a_sentence(client: Client, page: str) -> None:
    answer = client.post(page, {"act": "typed", "typed-half_zone": "99"})
    assert "Give a half-zone such as 7b." in answer.content.decode()


def nights(*lows: object) -> dict[str, object]:
    typed = {f"nights-low_{index}": low for index, low in enumerate(lows)}
    return {"act": "nights", "nights-first_night": "2026-10-14", **typed}


@pytest.mark.parametrize(
    ("low", "verdict"), [("60", "plant out"), ("51", "keep a cover at hand"), ("40", "Hold:")]
)
def test_seven_nights_give_a_verdict_in_the_readers_unit(
    world: World, page: str, as_person: SignIn, low: str, verdict: str
) -> None:
    Person.objects.filter(pk=world.member.person_id).update(temperature="F")
    client = as_person(world.member)
    text = client.post(page, nights(*[low] * 7), follow=True).content.decode()
    assert verdict in text
    assert "°F" in text
    assert "Nights of 14 October to 20 October, as typed." in text
    assert SevenNightLows.objects.get().lows_c[0] == pytest.approx((int(low) - 32) / 1.8, abs=0.01)


def test_seven_nights_refuse_gaps_and_nonsense(client: Client, page: str) -> None:
    for low in ("", "warm", "\x00", "400", "1e5"):
        answer = client.post(page, nights(*[10] * 6, low))
        assert answer.status_code == 422
        assert "Night 7: give a temperature from -60 to 45 °C." in answer.content.decode()


def test_members_type_nights_and_no_more(world: World, page: str, as_person: SignIn) -> None:
    client = as_person(world.member)
    text = client.get(page).content.decode()
    assert "Type the next seven nights" in text
    assert "Send a station file" not in text
    for act in ("record", "typed", "", "other"):
        assert client.post(page, {"act": act}).status_code == 403


def test_invented_record_says_so(client: Client, page: str, world: World) -> None:
    client.post(page, {"act": "record", "record-file": station()})
    WeatherRecord.objects.update(invented=True)
    assert "Invented: this record was made up" in client.get(page).content.decode()


def test_plant_page_shows_its_plan(client: Client, page: str, world: World) -> None:
    client.post(page, {"act": "record", "record-file": station()})
    address = f"{world.address}plants/{world.plant.code}"
    text = client.get(address).content.decode()
    assert "computed from the site&#x27;s daily record" in text
    assert "Source: " in text
    assert "{" not in text.partition("What comes next")[2]
    logged = client.post(f"{address}/log/lifted", {"uuid": str(uuid4())})
    assert logged.status_code == 302


def test_nights_of_no_year_get_a_sentence_and_the_page_lives_on(client: Client, page: str) -> None:
    for day in ("9999-12-31", "0001-01-01", "2026-12-24"):
        answer = client.post(page, {**nights(*[5] * 7), "nights-first_night": day})
        assert answer.status_code == 422
        assert "not one of the coming nights" in answer.content.decode()
    assert client.get(page).status_code == 200
