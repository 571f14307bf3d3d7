"""May tender plants go out? By seven typed nights, and by the record."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client

from lifecycle.models import SevenNightLows, TypedClimate, Variety
from lifecycle.records.ground.settings import choose
from tests.conftest import World
from tests.factories import NOON, a_plant

SignIn = Callable[..., Client]
TODAY = NOON.date()


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/planting-out"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def typed(world: World, warm_from: date) -> None:
    """Type a climate whose nights are warm from ``warm_from`` on."""
    freeze = warm_from - timedelta(30)
    TypedClimate.objects.create(
        garden=world.garden,
        site=world.site,
        half_zone="7a",
        last_freeze=f"{freeze:%m-%d}",
        first_freeze=f"{freeze + timedelta(190):%m-%d}",
        warm_from=f"{warm_from:%m-%d}",
        cool_from=f"{freeze + timedelta(170):%m-%d}",
    )


def nights(world: World, *lows_c: float) -> None:
    SevenNightLows.objects.create(
        garden=world.garden,
        site=world.site,
        first_night=TODAY,
        lows_c=list(lows_c),
        typed_by=world.member.person,
    )


def test_without_a_climate_it_says_what_is_missing(client: Client, address: str) -> None:
    assert "No plan yet" in client.get(address).content.decode()


@pytest.mark.parametrize(
    ("lows", "answer"),
    [
        ((13,) * 7, "Peppers: Ready"),
        ((13,) * 6 + (12,), "Peppers: Allowed, with a warning"),
        ((13,) * 6 + (9.9,), "Peppers: Hold"),
    ],
)
def test_seven_nights_decide(
    client: Client, address: str, world: World, lows: tuple[float, ...], answer: str
) -> None:
    typed(world, TODAY - timedelta(3))
    nights(world, *lows)
    text = client.get(address).content.decode()
    assert answer in text
    assert "Lows of the next seven nights" in text
    assert "#plant_out_night" in text


@pytest.mark.parametrize(
    ("ahead", "words"),
    [
        (60, "Too early: by the record from"),
        (20, "Hold: by the record from"),
        (3, "Allowed by the record, with a warning"),
        (-3, "Ready by the record"),
    ],
)
def test_without_nights_the_record_speaks(
    client: Client, address: str, world: World, ahead: int, words: str
) -> None:
    typed(world, TODAY + timedelta(ahead))
    assert words in client.get(address).content.decode()


def test_other_crops_appear_when_they_wait(client: Client, address: str, world: World) -> None:
    typed(world, TODAY - timedelta(3))
    assert "Tomatoes" not in client.get(address).content.decode()
    kind = Variety.objects.create(garden=world.garden, species="tomato_cherry", name="Small red")
    a_plant(world.member, world.quarters, name="Red", variety=kind, phase="seedling")
    text = client.get(address).content.decode()
    assert "<h2>Tomatoes: " in text
    assert "1 plant waiting" in text
    assert "lay them on their side" in text


def test_outsiders_find_nothing(world: World, address: str, as_person: SignIn) -> None:
    assert as_person(world.outsider).get(address).status_code == 404


@pytest.mark.parametrize(
    ("choice", "here", "there"),
    [("55", "Peppers: Allowed", "allowed"), ("50", "Peppers: Ready", "plant out.")],
)
def test_the_climate_page_says_the_same_under_the_sites_own_setting(
    client: Client, address: str, world: World, choice: str, here: str, there: str
) -> None:
    typed(world, TODAY - timedelta(3))
    nights(world, *(11.5,) * 7)
    choose(world.coordinator, world.site, "plant_out_night", choice, now=NOON)
    assert here in client.get(address).content.decode()
    climate = address.replace("planting-out", "climate")
    assert there in client.get(climate).content.decode()
