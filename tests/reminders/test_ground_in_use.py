"""What a plan is asked with: the ground of the place, the weather, choices and own values."""

from datetime import timedelta

import pytest

from lifecycle.care.outlook import Ground, SiteEvent, Weather
from lifecycle.models import Place, Variety
from lifecycle.records.ground.settings import choose
from lifecycle.records.ground.site_events import begin
from lifecycle.reminders.work import planning
from lifecycle.reminders.work.planning import ground_of, grounds_of, plan_for
from lifecycle.reminders.work.worklist import refresh_site
from tests.conftest import World
from tests.factories import NOON
from tests.reminders.climates import give_climate

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[dict]:
    calls: list[dict] = []

    def recorded(life, species, dates, today, **more):
        calls.append({"species": species, "dates": dates, **more})
        return []

    monkeypatch.setattr(planning, "plan", recorded)
    return calls


def test_the_ground_of_a_place(world: World, django_assert_num_queries) -> None:
    Place.objects.filter(pk=world.bed.pk).update(depth_cm=15.0, wire=True)
    Place.objects.filter(pk=world.bench.pk).update(temperature_c=22.0, bright=True)
    world.bed.refresh_from_db()
    world.bench.refresh_from_db()
    assert ground_of(world.bed) == Ground(depth_cm=15.0, wire=True)
    assert ground_of(world.bench) == Ground(in_pot=True, temperature_c=22.0, bright=True)
    assert ground_of(None) == Ground()
    with django_assert_num_queries(1):
        assert grounds_of([world.plant]) == {world.bed.pk: ground_of(world.bed)}


def test_page_and_tick_ask_alike(world: World, asked: list[dict]) -> None:
    give_climate(world)
    Place.objects.filter(pk=world.bed.pk).update(depth_cm=15.0, wire=True)
    choose(world.owner, world.site, "pinch", "leave", now=NOON)
    given = {"ended_on": None, "note": "", "now": NOON}
    begin(world.member, world.site, weather="heat", began_on=TODAY - timedelta(60), **given)
    world.plant.refresh_from_db()
    plan_for(world.plant, NOON)
    refresh_site(world.site, now=NOON)
    page, tick = asked
    assert page["ground"] == tick["ground"] == Ground(depth_cm=15.0, wire=True)
    assert page["dates"] == tick["dates"]
    assert page["dates"].policy.of("pinch") == "leave"
    assert page["events"] == tick["events"] == (SiteEvent(Weather.HEAT, TODAY - timedelta(60)),)
    refresh_site(world.site, now=NOON + timedelta(1))
    assert asked[-1]["events"] == ()


def test_a_variety_brings_its_own_values(world: World, asked: list[dict]) -> None:
    give_climate(world)
    Variety.objects.filter(pk=world.plant.variety_id).update(overrides={"spacing": 50.0})
    world.plant.variety.refresh_from_db()
    plan_for(world.plant, NOON)
    assert asked[0]["overrides"] == {"spacing": 50.0}
