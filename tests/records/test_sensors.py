"""A site's own thermometer: the secret address, its readings, and the lows of nights."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import AirReading, DayReading, SensorAddress
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import code_for
from lifecycle.records.weather.readings import overnight_low, type_reading
from lifecycle.records.weather.sensors import (
    address_by,
    keep_lows,
    keep_reading,
    low_heard,
    new_address,
    prune,
)
from tests.conftest import World
from tests.factories import NOON, SiteFactory

NIGHT = date(2026, 10, 13)
HOUR = timedelta(hours=1)
EVENING = datetime(2026, 10, 13, 18, tzinfo=UTC)


@pytest.fixture
def address(world: World) -> SensorAddress:
    return new_address(world.coordinator, world.site, now=NOON)


def code(address: SensorAddress) -> str:
    return code_for("sensor", address.pk, address.nonce)


def hear(address: SensorAddress, lows: list[float], every: timedelta = 3 * HOUR) -> None:
    """Readings from the evening on."""
    for number, low in enumerate(lows):
        keep_reading(address, air_c=low, at=EVENING + number * every, now=NOON)


def test_an_address_opens_by_its_code_alone(address: SensorAddress) -> None:
    assert address_by(address.pk, code(address)) == address
    for wrong in ("", "x", code(address)[:-1], code(address) + "A", "é"):
        assert address_by(address.pk, wrong) is None
    assert address_by(address.pk + 1, code(address)) is None


def test_a_new_address_ends_the_one_before(world: World, address: SensorAddress) -> None:
    old = code(address)
    fresh = new_address(world.owner, world.site, now=NOON)
    assert fresh.pk == address.pk
    assert address_by(address.pk, old) is None
    assert address_by(address.pk, code(fresh)) is not None


def test_who_may_make_one(world: World) -> None:
    for member in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            new_address(member, world.site, now=NOON)
    with pytest.raises(Refused, match="this garden"):
        new_address(world.owner, SiteFactory(), now=NOON)


def test_one_reading_a_minute_is_kept(address: SensorAddress) -> None:
    at = datetime(2026, 10, 14, 11, 30, 59, 5, tzinfo=UTC)
    assert keep_reading(address, air_c=3.456, at=at, now=NOON)
    assert not keep_reading(address, air_c=9.0, at=at - timedelta(seconds=58), now=NOON)
    assert keep_reading(address, air_c=9.0, at=at + timedelta(seconds=2), now=NOON)
    row = AirReading.objects.order_by("at")[0]
    assert (row.at, row.air_c) == (datetime(2026, 10, 14, 11, 30, tzinfo=UTC), 3.46)
    address.refresh_from_db()
    assert address.heard_at == NOON


@pytest.mark.parametrize(
    ("air_c", "at", "sentence"),
    [
        (60.1, NOON, "60.1 C cannot be. Send -60 to 60 C."),
        (-60.1, NOON, "-60.1 C cannot be."),
        (float("nan"), NOON, "nan C cannot be."),
        (3.0, NOON + timedelta(minutes=11), "has not come yet"),
        (3.0, NOON - timedelta(days=30, seconds=1), "over 30 days old"),
    ],
)
def test_what_no_thermometer_says_is_refused(
    address: SensorAddress, air_c: float, at: datetime, sentence: str
) -> None:
    with pytest.raises(Refused, match=sentence):
        keep_reading(address, air_c=air_c, at=at, now=NOON)
    assert not AirReading.objects.exists()


def test_the_bounds_themselves_are_kept(address: SensorAddress) -> None:
    for air_c, at in ((60.0, NOON - 30 * 24 * HOUR), (-60.0, NOON + timedelta(minutes=10))):
        assert keep_reading(address, air_c=air_c, at=at, now=NOON)
    # A clock that is ahead does not put a reading into the future.
    assert AirReading.objects.order_by("at").last().at == NOON  # type: ignore[union-attr]


def test_the_low_needs_readings_spread_over_the_night(world: World, address: SensorAddress) -> None:
    hear(address, [9.0, 6.0, 3.0, -0.5, 1.0])
    assert low_heard(world.site, NIGHT) is None
    keep_reading(address, air_c=7.0, at=EVENING + 15 * HOUR, now=NOON)
    assert low_heard(world.site, NIGHT) == -0.5


def test_many_readings_of_one_hour_are_no_night(world: World, address: SensorAddress) -> None:
    hear(address, [1.0] * 20, every=timedelta(minutes=5))
    assert low_heard(world.site, NIGHT) is None


WHOLE = [9.0, 6.0, 3.0, -0.5, 1.0, 7.0]


def test_the_low_goes_on_record_once_the_night_is_over(
    world: World, address: SensorAddress
) -> None:
    hear(address, WHOLE)
    assert keep_lows(now=EVENING + 15 * HOUR) == 0
    assert keep_lows(now=EVENING + 15 * HOUR + timedelta(seconds=1)) == 1
    row = DayReading.objects.get()
    assert (row.day, row.tmin_c, row.by) == (date(2026, 10, 14), -0.5, None)
    assert keep_lows(now=NOON) == 0


def test_late_readings_count_for_three_nights(world: World, address: SensorAddress) -> None:
    hear(address, WHOLE)
    assert keep_lows(now=NOON + 3 * 24 * HOUR) == 0
    assert keep_lows(now=NOON + 2 * 24 * HOUR) == 1
    assert DayReading.objects.get().day == date(2026, 10, 14)


def test_what_a_person_typed_stays(world: World, address: SensorAddress) -> None:
    hear(address, WHOLE)
    overnight_low(world.member, world.site, 2.0, NOON)
    assert keep_lows(now=NOON) == 0
    row = DayReading.objects.get()
    assert (row.day, row.tmin_c, row.by) == (date(2026, 10, 14), 2.0, world.member.person)


def test_beside_rain_that_was_typed_the_low_is_added(world: World, address: SensorAddress) -> None:
    hear(address, WHOLE)
    rain = {"day": NOON.date(), "tmin_c": None, "tmax_c": None, "rain_mm": 2.0}
    type_reading(world.member, world.site, **rain, now=NOON)  # type: ignore[arg-type]
    assert keep_lows(now=NOON) == 1
    row = DayReading.objects.get()
    assert (row.tmin_c, row.rain_mm) == (-0.5, 2.0)


def test_a_high_below_the_low_is_left_as_typed(world: World, address: SensorAddress) -> None:
    hear(address, [20.0] * 6)
    high = {"day": NOON.date(), "tmin_c": None, "tmax_c": 5.0, "rain_mm": None}
    type_reading(world.member, world.site, **high, now=NOON)  # type: ignore[arg-type]
    assert keep_lows(now=NOON) == 0
    assert DayReading.objects.get().tmin_c is None


def test_readings_are_kept_four_hundred_days(world: World, address: SensorAddress) -> None:
    keep_reading(address, air_c=1.0, at=NOON, now=NOON)
    assert prune(now=NOON + timedelta(days=400)) == 0
    assert prune(now=NOON + timedelta(days=400, seconds=1)) == 1
