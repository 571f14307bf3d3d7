"""Last night's low by one tap: when it is asked, what stands in it already, and who may."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from lifecycle.models import DayReading, Membership
from lifecycle.records.weather.readings import overnight_low
from lifecycle.records.weather.sensors import keep_reading, new_address
from lifecycle.web.weather.overnight import overnight
from tests.conftest import World
from tests.factories import NOON, SiteFactory

SignIn = Callable[..., Client]
EVENING = datetime(2026, 10, 13, 18, tzinfo=UTC)


def asked(member: Membership, world: World, hour: int, minute: int = 0) -> bool:
    now = datetime(2026, 10, 14, hour, minute, tzinfo=UTC)
    return overnight(member, world.site, now) is not None


def test_it_is_asked_from_five_to_six_in_the_evening(world: World) -> None:
    hours = [asked(world.member, world, *when) for when in ((4, 59), (5, 0), (17, 59), (18, 0))]
    assert hours == [False, True, True, False]


def test_the_clock_is_the_sites(world: World) -> None:
    site = SiteFactory(garden=world.garden, time_zone="America/Chicago")
    assert overnight(world.member, site, datetime(2026, 10, 14, 9, 59, tzinfo=UTC)) is None
    assert overnight(world.member, site, datetime(2026, 10, 14, 10, tzinfo=UTC)) is not None


def test_only_who_may_type_is_asked(world: World) -> None:
    assert not asked(world.committee, world, 8)
    assert asked(world.owner, world, 8)


def test_once_known_it_is_not_asked_again(world: World) -> None:
    overnight_low(world.member, world.site, -1.0, NOON)
    assert not asked(world.member, world, 12)


def test_what_the_thermometer_said_stands_in_the_field(world: World, as_person: SignIn) -> None:
    address = new_address(world.owner, world.site, now=NOON)
    for number, low in enumerate((9.0, 6.0, 3.0, -0.5, 1.0)):
        keep_reading(address, air_c=low, at=EVENING + timedelta(hours=3 * number), now=NOON)
    shown = overnight(world.member, world.site, NOON)
    assert shown is not None
    assert (shown["heard"], shown["form"].initial["low_c"]) == (False, None)
    keep_reading(address, air_c=7.0, at=EVENING + timedelta(hours=14), now=NOON)
    shown = overnight(world.member, world.site, NOON)
    assert shown is not None
    assert (shown["heard"], shown["form"].initial["low_c"]) == (True, -0.5)
    page = f"{world.address}sites/{world.site.pk}/forecast"
    text = as_person(world.member).get(page).content.decode()
    assert 'value="-0.5"' in text
    assert "the garden’s own thermometer says so" in text


def test_the_page_takes_a_low_and_says_what_is_wrong(world: World, as_person: SignIn) -> None:
    address = f"{world.address}sites/{world.site.pk}/overnight-low"
    client = as_person(world.member)
    assert b"<h1>Last night at Canal bank</h1>" in client.get(address).content
    bad = client.post(address, {"low_c": "cold"})
    assert bad.status_code == 422
    assert "give a temperature from -60 to 60 °C" in bad.content.decode()
    assert not DayReading.objects.exists()
    DayReading.objects.create(
        garden=world.garden, site=world.site, day=NOON.date(), tmax_c=5.0, at=NOON
    )
    high = client.post(address, {"low_c": "9"})
    assert high.status_code == 422
    assert "The high of the day is below its low." in high.content.decode()
    assert client.post(address, {"low_c": "23 F"}).status_code == 302
    assert DayReading.objects.get().tmin_c == pytest.approx(-5.0)


def test_the_committee_types_nothing(world: World, as_person: SignIn) -> None:
    address = f"{world.address}sites/{world.site.pk}/overnight-low"
    client = as_person(world.committee)
    assert client.get(address).status_code == 403
    assert client.post(address, {"low_c": "1"}).status_code == 403
    assert as_person(world.outsider).post(address, {"low_c": "1"}).status_code == 404
