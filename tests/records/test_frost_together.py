"""A frost night from many phones and workers at the same moment."""

from datetime import UTC, datetime

import pytest

from lifecycle.models import Entry, FrostBed, FrostNight
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.nights.frost import mark, uncover
from lifecycle.reminders.nights.frost_watch import watch_site
from tests.conftest import World
from tests.factories import NOON, a_plant
from tests.records.frosts import a_bed, a_forecast, a_night
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]

DUSK = datetime(2026, 10, 14, 17, tzinfo=UTC)
MORNING = datetime(2026, 10, 15, 8, tzinfo=UTC)


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def failures(made: list) -> list:
    return [each for each in made if isinstance(each, Exception)]


def test_a_place_covered_by_ten_phones_is_covered_once(world: World) -> None:
    a_plant(world.member, world.bed, name="Second")
    bed = a_bed(a_night(world), world.bed)
    assert failures(all_at_once(10, lambda _: mark(world.member, bed, "done", now=DUSK))) == []
    assert Entry.objects.filter(kind="covered").count() == 2
    assert failures(all_at_once(10, lambda _: uncover(world.member, bed, now=MORNING))) == []
    assert Entry.objects.filter(kind="uncovered").count() == 2
    assert list(mismatches()) == []


def test_a_site_judged_by_ten_workers_has_each_night_once(world: World) -> None:
    a_forecast(world, low_c=-5.0)
    made = all_at_once(10, lambda _: watch_site(world.site, NOON))
    assert failures(made) == []
    assert FrostNight.objects.get().state == "called"
    assert FrostBed.objects.count() == 1
