"""A day's rain, low and high as a member read them."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from lifecycle.models import DayReading
from lifecycle.records.refusal import Refused
from lifecycle.records.weather.readings import type_reading
from tests.conftest import World
from tests.factories import NOON, SiteFactory

DAY = date(2026, 10, 13)
GOOD = {"day": DAY, "tmin_c": 8.0, "tmax_c": 19.0, "rain_mm": 4.5}


def test_a_day_is_kept_once_and_what_is_left_out_stays(world: World) -> None:
    type_reading(world.member, world.site, **GOOD, now=NOON)
    later = {"day": DAY, "tmin_c": None, "tmax_c": 20.0, "rain_mm": None}
    type_reading(world.coordinator, world.site, **later, now=NOON)
    row = DayReading.objects.get()
    assert (row.tmin_c, row.tmax_c, row.rain_mm) == (8.0, 20.0, 4.5)
    assert row.by == world.coordinator.person


@pytest.mark.parametrize(
    ("wrong", "field", "sentence"),
    [
        ({"rain_mm": -1.0}, "rain_mm", "Rain: -1 mm cannot be. Give 0 to 1000 mm."),
        ({"rain_mm": 1000.1}, "rain_mm", "Give 0 to 1000 mm."),
        ({"rain_mm": float("nan")}, "rain_mm", "Rain: nan mm"),
        ({"tmin_c": -61.0}, "tmin_c", "Low: -61 °C cannot be. Give -60 to 60 °C."),
        ({"tmax_c": 60.5}, "tmax_c", "High: 60.5 °C cannot be."),
        ({"tmax_c": 7.9}, "tmax_c", "The high of the day is below its low."),
        ({"day": date(2026, 10, 15)}, "day", "has not come yet"),
        ({"day": date(1949, 12, 31)}, "day", "too long ago"),
        ({"tmin_c": None, "tmax_c": None, "rain_mm": None}, "rain_mm", "Give the rain"),
    ],
)
def test_a_day_that_cannot_be_is_refused(
    world: World, wrong: dict[str, object], field: str, sentence: str
) -> None:
    with pytest.raises(Refused) as refused:
        type_reading(world.member, world.site, **{**GOOD, **wrong}, now=NOON)  # type: ignore[arg-type]
    assert refused.value.field == field
    assert sentence in str(refused.value)
    assert not DayReading.objects.exists()


def test_a_high_below_the_low_typed_before_is_refused(world: World) -> None:
    type_reading(world.member, world.site, **GOOD, now=NOON)
    with pytest.raises(Refused, match="below its low"):
        type_reading(
            world.member, world.site, day=DAY, tmin_c=None, tmax_c=7.0, rain_mm=None, now=NOON
        )
    same = {**GOOD, "tmax_c": 8.0}
    assert type_reading(world.member, world.site, **same, now=NOON).tmax_c == 8.0  # type: ignore[arg-type]


def test_today_and_no_rain_are_answers(world: World) -> None:
    today = {**GOOD, "day": NOON.date(), "rain_mm": 0.0}
    assert type_reading(world.member, world.site, **today, now=NOON).rain_mm == 0  # type: ignore[arg-type]


def test_only_at_a_site_of_ones_own_garden_and_not_by_the_committee(world: World) -> None:
    with pytest.raises(Refused, match="this garden"):
        type_reading(world.member, SiteFactory(), **GOOD, now=NOON)
    with pytest.raises(PermissionDenied):
        type_reading(world.committee, world.site, **GOOD, now=NOON)


def test_the_table_itself_refuses_negative_rain(world: World) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        DayReading.objects.create(
            garden=world.garden,
            site=world.site,
            day=DAY,
            rain_mm=-1,
            by=world.member.person,
            at=NOON,
        )
