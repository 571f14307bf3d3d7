"""A rule set in summer moves the open tasks of the plants in its beds, and makes no second ones."""

from datetime import date

import pytest

from lifecycle.care.bed_rules import BedRules
from lifecycle.care.outlook import Ground
from lifecycle.models import Place, Plant, Site, Task
from lifecycle.records.ground.bed_rules import set_bed_rules, set_site_rules
from lifecycle.reminders.work.planning import ground_of, grounds_of, plan_for
from lifecycle.reminders.work.rules_ahead import Standing, standing_under
from lifecycle.reminders.work.worklist import plan_all
from tests.conftest import World
from tests.factories import PlaceFactory, VarietyFactory, a_plant
from tests.reminders.climates import at, give_climate, states

pytestmark = pytest.mark.django_db
SUMMER, AUTUMN = date(2026, 8, 25), date(2026, 10, 14)
SEPTEMBER = BedRules((9, 20))


def test_the_ground_carries_the_rules_of_the_bed_or_of_its_site(
    world: World, django_assert_num_queries
) -> None:
    set_site_rules(world.coordinator, world.site, SEPTEMBER, now=at(SUMMER))
    own = PlaceFactory(site=world.site)
    set_bed_rules(world.coordinator, own, BedRules(None, False, False), now=at(SUMMER))
    bed, bench = Place.objects.get(pk=world.bed.pk), Place.objects.get(pk=world.bench.pk)
    assert ground_of(bed) == Ground(rules=SEPTEMBER)
    assert ground_of(Place.objects.get(pk=own.pk)).rules == BedRules(None, False, False)
    assert ground_of(bench) == Ground(in_pot=True, rules=SEPTEMBER)
    plants = [world.plant, a_plant(world.member, own)]
    with django_assert_num_queries(1):
        assert grounds_of(plants)[world.bed.pk].rules == SEPTEMBER
    site, bed = Site.objects.get(pk=world.site.pk), Place.objects.get(pk=world.bed.pk)
    with django_assert_num_queries(0):
        assert ground_of(bed, site).rules == SEPTEMBER


def test_open_tasks_move_and_none_is_made_twice(world: World) -> None:
    give_climate(world)
    plan_all(now=at(SUMMER))
    before = {(task.kind, task.number): task for task in Task.objects.all()}
    assert before["lift", 1].best == date(2026, 9, 27)
    set_site_rules(world.coordinator, world.site, SEPTEMBER, now=at(SUMMER, 13))
    assert plan_all(now=at(SUMMER, 14)) == 1
    after = {(task.kind, task.number): task for task in Task.objects.all()}
    assert set(before) <= set(after)
    assert len(after) == Task.objects.count()
    lift = after["lift", 1]
    assert lift.pk == before["lift", 1].pk
    assert (lift.best, lift.latest) == (date(2026, 9, 13), date(2026, 9, 20))
    assert lift.moved_from == date(2026, 9, 27)
    assert lift.reason.startswith("This bed must be clear by {2026-09-20}.")
    assert lift.source == "Set by this garden"
    assert after["pest_check", 1].best == date(2026, 8, 30)
    set_site_rules(world.coordinator, world.site, BedRules(), now=at(SUMMER, 15))
    plan_all(now=at(SUMMER, 16))
    assert Task.objects.get(pk=lift.pk).best == date(2026, 9, 27)


def test_a_rule_set_after_its_day_shows_as_late(world: World) -> None:
    warm = {"half_zone": "9b", "last_freeze": "02-10", "first_freeze": "12-10"}
    give_climate(world, **warm, warm_from="04-01", cool_from="11-01")
    plan_all(now=at(AUTUMN))
    assert ("lift", 1) not in states()
    set_site_rules(world.coordinator, world.site, SEPTEMBER, now=at(AUTUMN, 13))
    for day in (AUTUMN, date(2026, 12, 28)):
        plan_all(now=at(day, 14))
        lift = Task.objects.get(kind="lift")
        assert (lift.state, lift.latest) == ("open", date(2026, 9, 20))
    assert not Task.objects.filter(kind="winter_check", state="open").exists()


def test_what_the_plan_leaves_too_late_to_lift_was_to_stay(world: World) -> None:
    give_climate(world)
    plan_all(now=at(SUMMER))
    assert standing_under(world.site, now=at(SUMMER)).to_stay == 0
    late = at(date(2026, 12, 20))
    assert not [step for step in plan_for(world.plant, late) if step.kind == "lift"]
    assert standing_under(world.site, now=late).to_stay == 1
    set_site_rules(world.coordinator, world.site, BedRules(None, False), now=late)
    world.plant.refresh_from_db()
    plant = Plant.objects.select_related("place__site", "site", "variety").get(pk=world.plant.pk)
    [lift] = [step for step in plan_for(plant, late) if step.kind == "lift"]
    assert lift.reason.startswith("Perennials may not winter in this bed’s ground. ")
    assert standing_under(world.site, now=late).to_stay == 0


def test_page_and_tick_say_the_same(world: World) -> None:
    give_climate(world)
    set_bed_rules(world.coordinator, world.bed, SEPTEMBER, now=at(SUMMER))
    plan_all(now=at(SUMMER))
    world.plant.refresh_from_db()
    [lift] = [step for step in plan_for(world.plant, at(SUMMER)) if step.kind == "lift"]
    assert lift.window.latest == Task.objects.get(kind="lift").latest == date(2026, 9, 20)


def test_what_would_change_counts_plants_beds_and_who_was_to_stay(world: World) -> None:
    assert standing_under(world.site, now=at(SUMMER)) == Standing(1, 1, 0)
    warm = {"half_zone": "9b", "last_freeze": "02-10", "first_freeze": "12-10"}
    give_climate(world, **warm, warm_from="04-01", cool_from="11-01")
    tomato = VarietyFactory(garden=world.garden, species="tomato_cherry")
    a_plant(world.member, world.bed, variety=tomato)
    second = PlaceFactory(site=world.site)
    a_plant(world.member, second)
    own = PlaceFactory(site=world.site, own_rules=True)
    a_plant(world.member, own)
    a_plant(world.member, world.bench, phase="growing")
    assert standing_under(world.site, now=at(SUMMER)) == Standing(3, 2, 2)
    assert standing_under(world.site, own, now=at(SUMMER)) == Standing(1, 1, 1)
    empty = PlaceFactory(site=world.site)
    assert standing_under(world.site, empty, now=at(SUMMER)) == Standing(0, 0, 0)
