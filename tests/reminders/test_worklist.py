"""From the plan to the work list: the same however often, moved, withdrawn, opened again."""

from datetime import date
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.life.kinds import Kind
from lifecycle.models import Place, Plant, Site, Task
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log, strike
from lifecycle.records.crops.plants import save_seed
from lifecycle.records.ground.gardens import add_site
from lifecycle.records.weather.weather import type_seven_nights
from lifecycle.reminders.work import worklist
from lifecycle.reminders.work.planning import climate_of, plan_for
from lifecycle.reminders.work.worklist import plan_all, refresh, refresh_site
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, a_plant, a_sowing, an_entry
from tests.records.threads import all_at_once
from tests.reminders.climates import DAY, at, give_climate, states

pytestmark = pytest.mark.django_db
AUTUMN = date(2026, 9, 1)


def rows() -> list[tuple]:
    return list(
        Task.objects.order_by("plant", "kind", "growing_year", "number").values_list(
            "plant", "kind", "growing_year", "number", "earliest", "best", "latest", "state"
        )
    )


def record_tasks(world: World, day: date = AUTUMN) -> list[tuple]:
    give_climate(world)
    plan_all(now=at(day))
    return rows()


def test_steps_that_open_within_thirty_days_become_tasks(world: World) -> None:
    record_tasks(world)
    found = states(state="open")
    assert {("review", 1), ("pest_check", 1), ("lift", 1)} <= set(found)
    assert all(task.earliest <= AUTUMN + 30 * DAY for task in Task.objects.all())
    # What waits for another step is no work yet.
    assert ("winter_quarters", 1) not in found
    lift = Task.objects.get(kind="lift")
    assert (lift.garden, lift.site, lift.plant) == (world.garden, world.site, world.plant)
    assert lift.growing_year == 2026
    assert "{10.00 C}" in lift.reason
    assert lift.source.startswith("A. Chamness")


def test_planning_again_changes_nothing(world: World) -> None:
    before = record_tasks(world)
    assert plan_all(now=at(AUTUMN, 13)) == 0
    refresh_site(world.site, now=at(AUTUMN, 14))
    assert rows() == before
    assert not Task.objects.filter(moved_on__isnull=False).exists()


def test_a_day_missed_is_made_up(world: World) -> None:
    give_climate(world)
    for days in (0, 1, 2):
        plan_all(now=at(AUTUMN + days * DAY))
    daily = rows()
    Task.objects.all().delete()
    Plant.objects.update(planned_on=None)
    plan_all(now=at(AUTUMN + 2 * DAY))
    assert rows() == daily


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_planners_at_once_make_each_task_once(transactional_db: None, world: World) -> None:
    for _ in range(5):
        a_plant(world.member, world.bed)
    give_climate(world)
    done = all_at_once(8, lambda _: plan_all(now=at(AUTUMN)))
    assert all(isinstance(each, int) for each in done), done
    together = rows()
    assert len({row[:4] for row in together}) == len(together)
    Task.objects.all().delete()
    Plant.objects.update(planned_on=None)
    plan_all(now=at(AUTUMN))
    assert rows() == together


def test_without_a_climate_there_is_no_work(world: World) -> None:
    assert climate_of(world.site).dates is None
    plan_all(now=at(AUTUMN))
    assert not Task.objects.exists()
    assert plan_for(world.plant, at(AUTUMN)) == []


def test_a_task_moves_with_the_plan_and_says_so(world: World) -> None:
    record_tasks(world)
    give_climate(world, cool_from="09-20")
    refresh_site(world.site, now=at(AUTUMN + DAY))
    lift = Task.objects.get(kind="lift")
    assert (lift.best, lift.moved_from, lift.moved_on) == (
        date(2026, 9, 20),
        date(2026, 9, 27),
        AUTUMN + DAY,
    )
    assert lift.state == "open"


def test_cold_nights_move_the_planting(world: World) -> None:
    give_climate(world)
    seedling = a_plant(world.member, world.bench, phase="seedling", happened_on=date(2026, 4, 1))
    today = date(2026, 5, 24)
    plan_all(now=at(today))
    type_seven_nights(
        world.member, world.site, first_night=today, lows_c=[4.0] * 7, now=at(today, 12)
    )
    refresh([seedling], now=at(today, 13))
    task = Task.objects.get(plant=seedling, kind="plant_out")
    assert (task.best, task.moved_from) == (date(2026, 5, 31), date(2026, 5, 25))


def test_a_step_that_vanished_is_withdrawn_with_the_reason_and_comes_back(world: World) -> None:
    record_tasks(world)
    review = an_entry(
        world.member, world.plant, Kind.REVIEWED, happened_on=AUTUMN, choice="in_ground"
    )
    plan_all(now=at(AUTUMN, 13))
    lift = Task.objects.get(kind="lift")
    assert lift.state == "withdrawn"
    assert lift.closed_why == "The plan changed and no longer has this step."
    strike(world.member, review, "", now=NOON)
    plan_all(now=at(AUTUMN, 14))
    lift.refresh_from_db()
    assert (lift.state, lift.closed_at, lift.closed_why) == ("open", None, "")


def test_the_end_of_a_plant_withdraws_its_tasks(world: World) -> None:
    record_tasks(world)
    an_entry(world.member, world.plant, Kind.ENDED, happened_on=AUTUMN, choice="died")
    plan_all(now=at(AUTUMN, 13))
    assert set(states().values()) == {"withdrawn"}
    assert set(Task.objects.values_list("closed_why", flat=True)) == {
        "The record ended on 1 September 2026."
    }
    # An ended record is planned once more and then left alone.
    assert plan_all(now=at(AUTUMN + DAY)) == 0


def test_a_window_long_past_is_withdrawn_by_its_date(world: World) -> None:
    record_tasks(world)
    plan_all(now=at(date(2026, 11, 20)))
    assert Task.objects.get(kind="lift").closed_why == (
        "Its window closed on 27 September 2026 and the plan has moved on."
    )


def test_a_done_task_never_changes(world: World) -> None:
    record_tasks(world)
    an_entry(world.member, world.plant, Kind.PEST_CHECK, happened_on=AUTUMN, choice="clean")
    done = Task.objects.filter(kind="pest_check").values().get()
    assert done["state"] == "done"
    give_climate(world, cool_from="10-20")
    for days in range(0, 60, 6):
        refresh_site(world.site, now=at(AUTUMN + days * DAY))
    assert Task.objects.filter(kind="pest_check", growing_year=2026).values().get() == done


def test_what_cannot_be_done_stays_so(world: World) -> None:
    record_tasks(world)
    Task.objects.filter(kind="lift").update(state="cannot", closed_why="No spade")
    refresh_site(world.site, now=at(AUTUMN + DAY))
    assert states(kind="lift") == {("lift", 1): "cannot"}


def test_a_written_entry_is_planned_the_same_day(world: World) -> None:
    record_tasks(world)
    an_entry(world.member, world.plant, Kind.LIFTED, happened_on=date(2026, 9, 20))
    refresh([world.plant], now=at(date(2026, 9, 20)))
    assert states(kind="winter_quarters") == {("winter_quarters", 1): "open"}
    assert states(kind="lift") == {("lift", 1): "done"}


def test_a_task_goes_with_its_plant_to_another_site(world: World) -> None:
    record_tasks(world)
    far = add_site(
        world.owner,
        name="Far",
        latitude=41.0,
        longitude=None,
        time_zone="UTC",
        year_starts_in=1,
    )
    give_climate(world, far)
    bed = PlaceFactory(site=far)
    an_entry(world.member, world.plant, Kind.MOVED, happened_on=AUTUMN, place=bed)
    plan_all(now=at(AUTUMN, 13))
    assert set(Task.objects.values_list("site", flat=True)) == {far.pk}


def test_a_room_of_known_temperature_is_judged_in_the_check(world: World) -> None:
    give_climate(world)
    Place.objects.filter(pk=world.quarters.pk).update(temperature_c=19.0)
    an_entry(
        world.member,
        world.plant,
        Kind.WINTER_QUARTERS,
        happened_on=date(2026, 10, 1),
        choice="resting",
        place=world.quarters,
    )
    plan_all(now=NOON)
    assert "give light and more water" in Task.objects.get(kind="winter_check").reason


def queries_of_planning(site: Site, day: date) -> int:
    with CaptureQueriesContext(
        connection,
    ) as found:
        refresh_site(site, now=at(day))
    return len(found)


def test_a_batch_costs_the_same_queries_whatever_is_in_it(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    give_climate(world)
    for _ in range(19):
        a_plant(world.member, world.bed)
    a_sowing(world.member, world.bench)
    refresh_site(world.site, now=at(AUTUMN))
    few = queries_of_planning(world.site, AUTUMN + DAY)
    for _ in range(180):
        a_plant(world.member, world.bed)
    refresh_site(world.site, now=at(AUTUMN + DAY))
    many = queries_of_planning(world.site, AUTUMN + 2 * DAY)
    assert few == many
    monkeypatch.setattr(worklist, "BATCH", 50)
    batches = queries_of_planning(world.site, AUTUMN + 3 * DAY)
    # Three batches more: each asks for rows, swaps, entries, rooms and tasks, and marks the day.
    assert batches - many == 3 * 8


def do(world: World, task: Task, day: date, choice: str) -> None:
    """Do a task by the entry that does it; kept seed makes a lot as well."""
    if task.kind == "backup":
        save_seed(
            world.member,
            world.plant,
            name=f"of {day.year}",
            seeds=None,
            happened_on=day,
            uuid=uuid4(),
            now=at(day, 13),
        )
        return
    rule = STEP_RULES[task.kind]
    place = {"replant": world.bed, "winter_quarters": world.quarters}.get(task.kind)
    draft = Draft(rule.done_by, day, choice=choice or rule.choice, place=place)
    log(world.member, world.plant, draft, now=at(day, 13))


def test_two_years_of_nightly_plans_leave_each_step_done_once(world: World) -> None:
    give_climate(world)
    day, end = date(2026, 9, 1), date(2028, 9, 1)
    doing = {"review": "resting", "winter_quarters": "resting"}
    while day < end:
        plan_all(now=at(day))
        for task in Task.objects.filter(state="open", best__lte=day).order_by("best", "pk"):
            task.refresh_from_db()
            if task.state != "open":
                continue
            do(world, task, day, doing.get(task.kind, ""))
            refresh([world.plant], now=at(day, 14))
        day += DAY
    # Waking only quickens the watering, so that no open task loses its step.
    # The round of picking that is open when the season ends goes with it.
    assert not Task.objects.filter(state="withdrawn").exclude(kind="harvest").exists()
    assert not Task.objects.filter(state="open", latest__lt=end - DAY).exists()
    counted = Task.objects.filter(state="done").values_list("kind", "growing_year")
    for kind in ("lift", "cut_back", "winter_quarters"):
        assert sorted(year for found, year in counted if found == kind) == [2026, 2027]
    # A plant taken over in bearing has not been fed this summer, as far as anybody knows.
    assert sorted(year for found, year in counted if found == "first_feed") == [2026, 2027, 2028]
    for kind in ("wake", "harden_again", "replant"):
        assert sorted(year for found, year in counted if found == kind) == [2027, 2028]
    # One entry may do steps of two kinds, such as a pick that is the last; never two of one.
    done = Task.objects.filter(state="done").values_list("entry", "kind")
    assert len(set(done)) == len(done)


def test_an_entry_that_comes_in_while_planning_is_left_to_the_next_tick(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    record_tasks(world)
    before = rows()
    read = worklist.steps_of

    def slowly(*args: object, **more: object) -> list:
        steps = read(*args, **more)
        if Plant.objects.get().last_kind != "ended":
            an_entry(world.member, world.plant, Kind.ENDED, happened_on=AUTUMN + DAY, choice="died")
        return steps

    monkeypatch.setattr(worklist, "steps_of", slowly)
    plan_all(now=at(AUTUMN + 40 * DAY))
    assert rows() == before
    assert Plant.objects.get().planned_on is None
    plan_all(now=at(AUTUMN + 40 * DAY, 13))
    assert set(states().values()) == {"withdrawn"}
