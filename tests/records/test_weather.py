"""The weather a garden keeps: records, typed dates, seven nights."""

import gzip
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import NightForecast, SevenNightLows, WeatherRecord
from lifecycle.records.refusal import Refused
from lifecycle.records.weather.night_prior import prior_in_use
from lifecycle.records.weather.weather import add_record, type_climate, type_seven_nights
from tests.conftest import World
from tests.external.installed_records import aquacrop_csv
from tests.factories import NOON, SiteFactory

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
EMPTY = dict.fromkeys(
    ("half_zone", "zone_source", "last_freeze", "first_freeze", "warm_from", "cool_from"), ""
)


def test_one_record_is_in_use_and_its_bytes_are_kept(world: World) -> None:
    other, data = aquacrop_csv("tunis"), aquacrop_csv("brussels")
    for name, sent in (("First", other), ("Second", data), ("Again", data)):
        record = add_record(
            world.coordinator, world.site, name=name, data=sent, units="C", now=NOON
        )
    assert gzip.decompress(bytes(record.source_gz)) == data
    assert [row.name for row in WeatherRecord.objects.filter(in_use=True)] == ["Second"]
    assert WeatherRecord.objects.count() == 2
    assert record.climate["zone"]["half_zone"] == "8b"


@pytest.mark.parametrize("data", [b"", b"no table at all", b"\x00\xff" * 50, b"\x1f\x8bbroken"])
def test_a_file_that_is_no_record_is_refused_with_a_sentence(world: World, data: bytes) -> None:
    with pytest.raises(Refused) as problem:
        add_record(world.coordinator, world.site, name="x", data=data, units=None, now=NOON)
    assert problem.value.field == "file"
    assert str(problem.value)


def test_typed_dates(world: World) -> None:
    typed = type_climate(
        world.coordinator,
        world.site,
        **EMPTY | {"half_zone": " 7B ", "last_freeze": "04-10", "first_freeze": "10-28"},
    )
    assert (typed.half_zone, typed.last_freeze) == ("7b", "04-10")
    dates = {"last_freeze": "02-29", "first_freeze": "12-01"}
    again = type_climate(world.coordinator, world.site, **EMPTY | dates)
    assert (again.pk, again.half_zone) == (typed.pk, "")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("last_freeze", "02-30"),
        ("first_freeze", "13-01"),
        ("warm_from", "12 May"),
        ("half_zone", "14a"),
        ("half_zone", "x" * 10_000),
        ("zone_source", "x" * 10_000),
        ("cool_from", "\x00"),
    ],
)
def test_typed_dates_that_cannot_be(world: World, field: str, value: str) -> None:
    with pytest.raises(Refused) as problem:
        type_climate(world.coordinator, world.site, **EMPTY | {field: value})
    assert problem.value.field == field


@pytest.mark.parametrize("low", [float("nan"), float("inf"), -60.1, 45.1])
def test_a_night_that_cannot_be(world: World, low: float) -> None:
    with pytest.raises(Refused, match="Check the unit"):
        type_seven_nights(
            world.member,
            world.site,
            now=NOON,
            first_night=date(2026, 10, 14),
            lows_c=[5.0] * 6 + [low],
        )


def told_by_a_service(world: World, low_c: float, **more: Any) -> None:
    """The same low for all seven nights, an hour ago."""
    ago = NOON - timedelta(hours=1)
    given: dict[str, Any] = {"source": "daily", "issued_at": ago, "received_at": ago, **more}
    for ahead in range(7):
        NightForecast.objects.create(
            garden=world.garden, site=world.site, night=TODAY + timedelta(ahead), low_c=low_c,
            **given,
        )  # fmt: skip


def typed(world: World, low_c: float) -> None:
    type_seven_nights(world.member, world.site, now=NOON, first_night=TODAY, lows_c=[low_c] * 7)


@pytest.mark.parametrize("source", ["daily", "gridpoint", "file"])
def test_a_low_far_from_a_fresh_forecast_is_refused(world: World, source: str) -> None:
    told_by_a_service(world, -2.0, source=source)
    for low in (-17.0, 13.0):
        typed(world, low)
    said = "28 °C for the night of 14 October is far from the newest forecast, -2 °C. Check"
    with pytest.raises(Refused, match=said) as problem:
        typed(world, 28.0)
    assert problem.value.field == "lows"
    for low in (-17.1, 13.1):
        with pytest.raises(Refused, match="far from the newest forecast"):
            typed(world, low)


@pytest.mark.parametrize(
    "more",
    [
        {"issued_at": NOON - timedelta(hours=7)},
        {"received_at": NOON + timedelta(minutes=1)},
        {"source": "typed"},
    ],
)
def test_only_what_a_service_told_lately_counts(world: World, more: dict[str, Any]) -> None:
    told_by_a_service(world, -2.0, **more)
    typed(world, 28.0)
    assert SevenNightLows.objects.get().lows_c == [28.0] * 7


def test_the_newest_issue_counts(world: World) -> None:
    told_by_a_service(world, 20.0)
    told_by_a_service(world, -2.0, issued_at=NOON - timedelta(hours=2))
    typed(world, 28.0)


def test_a_low_that_no_night_of_the_season_came_near_is_refused(world: World) -> None:
    add_record(
        world.owner, world.site, name="R", data=aquacrop_csv("brussels"), units="C", now=NOON
    )
    prior = prior_in_use(world.site)
    ends = [prior.lows_c()[prior.season(TODAY + timedelta(ahead)) > 0] for ahead in range(7)]
    lowest = max(float(each.min()) for each in ends) - 8
    highest = min(float(each.max()) for each in ends) + 8
    for low in (lowest, highest):
        typed(world, low)
    for low in (lowest - 0.1, highest + 0.1):
        with pytest.raises(Refused, match=r"is far from such nights on record, .* Check the unit"):
            typed(world, low)
    # A service that tells of such a night bears the member out.
    told_by_a_service(world, lowest - 5)
    typed(world, lowest - 13)
    with pytest.raises(Refused, match="such nights on record"):
        typed(world, lowest - 13.1)
    told_by_a_service(world, highest + 5, issued_at=NOON)
    typed(world, highest + 13)
    with pytest.raises(Refused, match="such nights on record"):
        typed(world, highest + 13.1)


def test_seven_nights_replace_the_seven_before(world: World) -> None:
    first = type_seven_nights(
        world.member, world.site, now=NOON, first_night=date(2026, 10, 14), lows_c=[12.7777] * 7
    )
    second = type_seven_nights(
        world.member, world.site, now=NOON, first_night=date(2026, 10, 15), lows_c=[5] * 7
    )
    assert (first.lows_c[0], first.pk) == (12.78, second.pk)
    with pytest.raises(Refused, match="seven nights, not 6"):
        type_seven_nights(
            world.member, world.site, now=NOON, first_night=date(2026, 10, 15), lows_c=[5.0] * 6
        )


def test_weather_is_typed_by_those_who_may(world: World) -> None:
    night = date(2026, 10, 14)
    with pytest.raises(PermissionDenied):
        type_seven_nights(
            world.committee, world.site, first_night=night, lows_c=[5.0] * 7, now=NOON
        )
    with pytest.raises(PermissionDenied):
        type_climate(world.member, world.site, **EMPTY)
    with pytest.raises(PermissionDenied):
        add_record(world.member, world.site, name="x", data=b"", units=None, now=NOON)
    for act in (
        lambda: type_seven_nights(
            world.member, SiteFactory(), first_night=night, lows_c=[5.0] * 7, now=NOON
        ),
        lambda: type_climate(world.owner, SiteFactory(), **EMPTY),
    ):
        with pytest.raises(Refused, match="does not belong"):
            act()


ONE_DAY = b"date,tmin_c,tmax_c\n2020-01-01,1,2\n"


def test_a_firm_record_does_not_give_way_to_a_short_one(world: World) -> None:
    add_record(
        world.coordinator, world.site, name="Long", data=aquacrop_csv("tunis"), units="C", now=NOON
    )
    with pytest.raises(Refused, match="stays in use") as problem:
        add_record(world.coordinator, world.site, name="x", data=ONE_DAY, units=None, now=NOON)
    assert problem.value.field == "file"
    assert [row.name for row in WeatherRecord.objects.filter(in_use=True)] == ["Long"]


def test_a_record_from_the_future_is_refused(world: World) -> None:
    data = b"date,tmin_c,tmax_c\n2026-10-13,1,9\n2026-10-15,1,9\n"
    with pytest.raises(Refused, match="in the future"):
        add_record(world.coordinator, world.site, name="x", data=data, units=None, now=NOON)
    assert not WeatherRecord.objects.exists()


@pytest.mark.parametrize("night", [date.min, date(2026, 10, 12), date(2026, 10, 22), date.max])
def test_nights_that_are_not_coming_are_refused(world: World, night: date) -> None:
    with pytest.raises(Refused, match="not one of the coming nights") as problem:
        type_seven_nights(world.member, world.site, first_night=night, lows_c=[5.0] * 7, now=NOON)
    assert problem.value.field == "first_night"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"last_freeze": "10-20", "first_freeze": "10-25"}, "last_freeze"),
        ({"last_freeze": "04-20", "first_freeze": "04-20"}, "first_freeze"),
        ({"warm_from": "09-01", "cool_from": "10-01"}, "warm_from"),
        ({"warm_from": "06-01", "cool_from": "06-01"}, "cool_from"),
        ({"last_freeze": "05-01"}, "last_freeze"),
        ({"half_zone": "7b", "first_freeze": "10-20"}, "last_freeze"),
    ],
)
def test_dates_that_no_year_brings_or_that_plan_nothing(
    world: World, given: dict[str, str], field: str
) -> None:
    with pytest.raises(Refused) as problem:
        type_climate(world.coordinator, world.site, **EMPTY | given)
    assert problem.value.field == field


def test_dates_of_a_southern_site_lie_half_a_year_on(world: World) -> None:
    south = SiteFactory(garden=world.garden, latitude=-31.4, year_starts_in=7)
    given = {"last_freeze": "08-27", "first_freeze": "06-10"}
    assert type_climate(world.coordinator, south, **EMPTY | given).last_freeze == "08-27"
    with pytest.raises(Refused, match="July to January"):
        type_climate(world.coordinator, south, **EMPTY | {**given, "last_freeze": "04-20"})
