"""Chores in the work list: made, moved, withdrawn, and never twice."""

from datetime import date, datetime, time, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Chore, Site, Task
from lifecycle.records.work.chores import ChoreDraft, change_chore, end_chore
from lifecycle.records.work.doing import do_tasks
from lifecycle.records.work.tasks import cannot_do, take
from lifecycle.reminders.work.chore_list import plan_chores, plan_site_chores
from lifecycle.reminders.work.planning import climate_of
from tests.conftest import World
from tests.factories import NOON, SiteFactory
from tests.records.threads import all_at_once
from tests.records.works import TODAY, a_chore
from tests.reminders.climates import DAY, at, give_climate

pytestmark = pytest.mark.django_db


def days(state: str = "open", **which: object) -> list[date]:
    return list(
        Task.objects.filter(state=state, **which).order_by("best").values_list("best", flat=True)
    )


def rows() -> list[tuple[object, ...]]:
    columns = ("chore", "growing_year", "number", "earliest", "best", "latest", "state", "assignee")
    return list(Task.objects.order_by("pk").values_list("pk", *columns))


def a_weekly(world: World, **more: object) -> Chore:
    return a_chore(world, repeat="weeks", **more)


def changed(world: World, chore: Chore, **more: object) -> None:
    chore.refresh_from_db()
    draft = {name: getattr(chore, name) for name in ChoreDraft.__slots__}
    change_chore(world.coordinator, chore, ChoreDraft(**{**draft, **more}), now=NOON)
    plan_chores(now=NOON)


def test_what_falls_within_thirty_days_is_made(world: World) -> None:
    chore = a_weekly(world, place=world.bed, days_open=2, at_time=time(18))
    assert plan_chores(now=NOON) == 5
    assert days() == [TODAY + 7 * DAY * n for n in range(5)]
    task = Task.objects.earliest("best")
    assert (task.kind, task.chore, task.plant, task.sowing) == ("chore", chore, None, None)
    assert (task.growing_year, task.number) == (2026, TODAY.timetuple().tm_yday)
    assert (task.earliest, task.latest) == (TODAY, TODAY + 2 * DAY)
    assert task.reason == "Every week, on Wednesdays, at 18:00."
    assert task.made_at == NOON


def test_planning_again_changes_nothing(world: World) -> None:
    a_weekly(world)
    a_chore(world, title="Once")
    plan_chores(now=NOON)
    before = rows()
    assert plan_chores(now=NOON) == 0
    assert plan_chores(now=at(TODAY, 20)) == 0
    assert rows() == before


def test_a_missed_tick_leaves_only_the_last_of_what_was_missed(world: World) -> None:
    a_weekly(world)
    late = TODAY + 24 * DAY
    plan_chores(now=at(late))
    assert days() == [TODAY + 21 * DAY + 7 * DAY * n for n in range(5)]


def test_what_nobody_did_gives_way_to_the_next(world: World) -> None:
    a_weekly(world)
    for number in range(15):
        plan_chores(now=at(TODAY + number * DAY))
    assert days()[0] == TODAY + 14 * DAY
    assert days("withdrawn") == [TODAY, TODAY + 7 * DAY]
    gone = Task.objects.earliest("best")
    assert gone.closed_why == "Its next time has come."
    assert [event.act for event in gone.events.all()] == ["withdrawn"]


def test_what_is_long_past_is_not_made(world: World) -> None:
    a_chore(world, repeat="years", first_day=TODAY - 60 * DAY)
    plan_chores(now=NOON)
    assert days() == []
    a_chore(world, repeat="years", first_day=TODAY - 20 * DAY)
    plan_chores(now=NOON)
    assert days() == [TODAY - 20 * DAY]


def test_open_tasks_move_with_the_chore_and_keep_who_has_them(world: World) -> None:
    chore = a_chore(world, first_day=TODAY + 3 * DAY)
    plan_chores(now=NOON)
    task = Task.objects.get()
    take(world.member, task, now=NOON)
    changed(world, chore, first_day=TODAY + 5 * DAY)
    moved = Task.objects.get()
    assert (moved.pk, moved.best, moved.assignee) == (task.pk, TODAY + 5 * DAY, world.member.person)
    assert (moved.moved_from, moved.moved_on) == (TODAY + 3 * DAY, TODAY)
    last = moved.events.last()
    assert (last.act, last.note) == ("moved", "from {2026-10-17} to {2026-10-19}")
    changed(world, chore, days_open=9)
    assert Task.objects.get().latest == TODAY + 14 * DAY


def test_what_is_done_never_changes(world: World) -> None:
    chore = a_weekly(world)
    plan_chores(now=NOON)
    first, second = Task.objects.order_by("best")[:2]
    do_tasks(world.member, [first], form_id=uuid4(), now=NOON)
    cannot_do(world.member, second, "Snow", now=NOON)
    before = list(Task.objects.exclude(state="open").order_by("pk").values())
    changed(world, chore, first_day=TODAY + 1 * DAY)
    end_chore(world.coordinator, chore, now=NOON)
    plan_chores(now=NOON)
    assert list(Task.objects.filter(state__in=["done", "cannot"]).order_by("pk").values()) == before
    assert days() == []
    assert set(Task.objects.filter(state="withdrawn").values_list("closed_why", flat=True)) == {
        "The chore was ended."
    }
    assert plan_chores(now=at(TODAY + DAY)) == 0


def test_a_day_that_comes_back_is_the_same_task(world: World) -> None:
    chore = a_weekly(world)
    plan_chores(now=NOON)
    before = days()
    changed(world, chore, last_day=TODAY)
    assert days() == [TODAY]
    changed(world, chore, last_day=None)
    assert days() == before
    assert Task.objects.count() == 5


def test_before_the_hard_freeze_once_a_year(world: World) -> None:
    give_climate(world)
    chore = a_chore(world, repeat="hard_freeze", days_open=3)
    # No chore can be made so any more; those that were keep their days.
    Chore.objects.filter(pk=chore.pk).update(days_from_anchor=25)
    plan_chores(now=NOON)
    dates = climate_of(world.site).dates
    assert dates is not None
    assert dates.first_hard_freeze is not None
    freeze = date(2026, *dates.first_hard_freeze)
    task = Task.objects.get()
    assert task.best == freeze + 25 * DAY
    assert task.reason.startswith(f"25 days after {{{freeze}}}: by then one year in ten")
    assert task.source == "The climate of this site, typed in by a member"
    take(world.member, task, now=NOON)
    give_climate(world, first_freeze="10-20")
    plan_chores(now=NOON)
    assert Task.objects.get().best == task.best + 6 * DAY
    do_tasks(world.member, [task], form_id=uuid4(), now=NOON)
    give_climate(world, first_freeze="10-28")
    plan_chores(now=NOON)
    assert Task.objects.count() == 1
    assert chore.tasks.get().state == "done"


def test_without_a_climate_or_a_hard_freeze_there_is_none(world: World) -> None:
    a_chore(world, repeat="hard_freeze")
    assert plan_chores(now=NOON) == 0
    give_climate(world, half_zone="11a", first_freeze="", last_freeze="")
    assert plan_chores(now=NOON) == 0


def test_days_are_the_sites_own_over_a_change_of_the_clocks(world: World) -> None:
    """Clocks go back in Paris on 25 October 2026; a daily chore stays one a day."""
    Site.objects.filter(pk=world.site.pk).update(time_zone="Europe/Paris")
    world.site.refresh_from_db()
    a_chore(world, repeat="days", at_time=time(2, 30), first_day=TODAY)
    moment = datetime.fromisoformat("2026-10-14T12:00:00+00:00")
    while moment.date() < date(2026, 10, 28):
        plan_chores(now=moment)
        moment += timedelta(hours=7)
    every = Task.objects.order_by("best").values_list("best", flat=True)
    assert list(every) == [TODAY + DAY * n for n in range(len(every))]


def test_the_end_of_its_plant_ends_it(world: World) -> None:
    a_weekly(world, plant=world.plant)
    plan_chores(now=NOON)
    type(world.plant).objects.filter(pk=world.plant.pk).update(phase="ended")
    plan_chores(now=NOON)
    assert days() == []
    assert "The plant it was for has ended." in Task.objects.values_list("closed_why", flat=True)


def test_another_site_takes_its_tasks_along(world: World) -> None:
    chore = a_weekly(world)
    plan_chores(now=NOON)
    far = SiteFactory(garden=world.garden)
    changed(world, chore, site=far)
    assert set(Task.objects.values_list("site", flat=True)) == {far.pk}


def test_number_of_queries_does_not_grow(world: World) -> None:
    seen = []
    for more in (3, 30):
        for number in range(more):
            a_weekly(world, title=f"Chore {more} {number}")
        plan_site_chores(world.site, now=NOON)
        with CaptureQueriesContext(connection) as queries:
            plan_site_chores(world.site, now=at(TODAY, 20))
        seen.append(len(queries))
    assert seen[0] == seen[1] <= 2


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_planners_at_once_make_each_task_once(transactional_db: None, world: World) -> None:
    chores = [a_weekly(world, title=f"Chore {n}") for n in range(4)]
    made = all_at_once(8, lambda _: plan_chores(now=NOON))
    assert all(isinstance(each, int) for each in made), made
    assert sum(each for each in made if isinstance(each, int)) == 20
    for chore in chores:
        end_chore(world.coordinator, chore, now=NOON)
    gone = all_at_once(8, lambda _: plan_chores(now=NOON))
    assert sum(each for each in gone if isinstance(each, int)) == 20, gone
    events = [event.act for task in Task.objects.all() for event in task.events.all()]
    assert events == ["withdrawn"] * 20
