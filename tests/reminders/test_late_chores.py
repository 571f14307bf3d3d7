"""Chores that are late, and chores whose freeze moves: none is lost."""

from datetime import date
from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import Chore, Site, Task, TypedClimate
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log
from lifecycle.records.people.leaving import leave
from lifecycle.records.work.chores import ChoreDraft, add_starters, change_chore
from lifecycle.records.work.doing import do_tasks
from lifecycle.records.work.tasks import take
from lifecycle.reminders.work.chore_list import plan_chores
from lifecycle.reminders.work.escalation import escalate_all
from lifecycle.reminders.work.planning import climate_of
from lifecycle.reminders.work.worklist import refresh
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, SiteFactory
from tests.records.works import TODAY, a_chore
from tests.reminders.climates import DAY, at, give_climate

pytestmark = pytest.mark.django_db


def states() -> list[tuple[date, str, str]]:
    rows = Task.objects.exclude(chore=None).order_by("best", "pk")
    return list(rows.values_list("best", "state", "closed_why"))


def changed(world: World, chore: Chore, day: date, **more: object) -> None:
    chore.refresh_from_db()
    draft = {name: getattr(chore, name) for name in ChoreDraft.__slots__}
    change_chore(world.coordinator, chore, ChoreDraft(**{**draft, **more}), now=at(day))
    plan_chores(now=at(day))


def first_hard_freeze(site: Site) -> date:
    dates = climate_of(site).dates
    assert dates is not None
    assert dates.first_hard_freeze is not None
    return date(2026, *dates.first_hard_freeze)


def a_shut_off(world: World, day: date) -> None:
    add_starters(world.coordinator, world.site, ["water_off"], now=at(day))
    plan_chores(now=at(day))


@pytest.mark.parametrize("before", [13, 6, 0, -14, -90])
def test_a_shut_off_added_late_is_due_at_once(world: World, before: int) -> None:
    give_climate(world)
    freeze = first_hard_freeze(world.site)
    day = freeze - before * DAY
    a_shut_off(world, day)
    [task] = Task.objects.exclude(chore=None)
    assert (task.best, task.state) == (day, "open")
    assert "due at once" in task.reason
    for later in range(1, 60):
        plan_chores(now=at(day + later * DAY))
    assert states() == [(day, "open", "")]
    do_tasks(world.member, [task], form_id=uuid4(), now=at(day + 60 * DAY))
    plan_chores(now=at(date(2027, 9, 30)))
    assert [state for _, state, _ in states()] == ["done", "open"]


def test_a_freeze_that_moves_before_its_beginning_keeps_the_open_task(world: World) -> None:
    give_climate(world)
    day = first_hard_freeze(world.site) - 20 * DAY
    a_shut_off(world, day)
    task = Task.objects.exclude(chore=None).get()
    take(world.member, task, now=at(day))
    give_climate(world, first_freeze="10-04")
    plan_chores(now=at(day + DAY))
    moved = Task.objects.exclude(chore=None).get()
    assert (moved.pk, moved.best, moved.state) == (task.pk, day, "open")
    assert moved.assignee == world.member.person
    assert moved.moved_from == task.best


def test_a_freeze_that_moves_beyond_the_look_ahead_takes_the_task_along(world: World) -> None:
    give_climate(world)
    day = first_hard_freeze(world.site) - 20 * DAY
    a_shut_off(world, day)
    task = Task.objects.exclude(chore=None).get()
    take(world.member, task, now=at(day))
    give_climate(world, first_freeze="12-20")
    for later in range(3):
        plan_chores(now=at(day + later * DAY))
    moved = Task.objects.exclude(chore=None).get()
    assert (moved.pk, moved.assignee, moved.state) == (task.pk, world.member.person, "open")
    assert moved.best == first_hard_freeze(world.site) - 14 * DAY


def test_a_freeze_that_moves_far_into_the_past_keeps_what_follows_it(world: World) -> None:
    give_climate(world)
    a_chore(world, repeat="last_freeze", days_from_anchor=180, days_open=1, first_day=TODAY)
    plan_chores(now=NOON)
    task = Task.objects.get()
    give_climate(world, last_freeze="03-01")
    for day in (TODAY, TODAY + DAY):
        plan_chores(now=at(day))
    assert states() == [(task.best, "open", "")]


def test_what_nobody_knows_or_has_any_more_is_told_truly(world: World) -> None:
    give_climate(world)
    day = first_hard_freeze(world.site) - 20 * DAY
    a_shut_off(world, day)
    TypedClimate.objects.all().delete()
    plan_chores(now=at(day))
    assert [state for _, state, _ in states()] == ["open"]
    give_climate(world, half_zone="11a", first_freeze="", last_freeze="")
    plan_chores(now=at(day))
    [(_, state, why)] = states()
    assert (state, why.endswith("no hard freeze in nine years of ten.")) == ("withdrawn", True)
    give_climate(world)
    plan_chores(now=at(day))
    assert [state for _, state, _ in states()] == ["open"]


def test_one_task_stands_for_a_year_wherever_the_freeze_went(world: World) -> None:
    give_climate(world)
    day = first_hard_freeze(world.site) - 20 * DAY
    a_shut_off(world, day)
    for dates in (
        {"half_zone": "11a", "first_freeze": "", "last_freeze": ""},
        {"first_freeze": "10-20"},
        {},
    ):
        give_climate(world, **dates)
        plan_chores(now=at(day))
    assert [state for _, state, _ in states()].count("open") == 1
    assert (
        (states()[-1][2]) == "The day of the freeze moved, and another task stands for this year."
    )


def test_a_weekly_chore_turned_into_one_of_the_freeze_leaves_no_weekly_task(world: World) -> None:
    give_climate(world)
    chore = a_chore(world, repeat="weeks")
    plan_chores(now=NOON)
    changed(world, chore, TODAY, repeat="hard_freeze", days_from_anchor=0)
    assert [state for _, state, _ in states()].count("open") == 1
    changed(world, chore, TODAY, first_day=TODAY + 300 * DAY)
    assert [state for _, state, _ in states()].count("open") == 0


@pytest.mark.parametrize(
    "more",
    [{"repeat": "once"}, {"repeat": "years"}, {"repeat": "weeks", "last_day": TODAY + 6 * DAY}],
)
def test_what_has_no_next_time_stays_late_and_is_raised(
    world: World, more: dict[str, object]
) -> None:
    a_chore(world, **more)
    for number in (0, 3, 20, 47, 48, 49, 50, 100, 300):
        plan_chores(now=at(TODAY + number * DAY))
        escalate_all(now=at(TODAY + number * DAY))
    assert states() == [(TODAY, "open", "")]
    task = Task.objects.get()
    assert task.offered_on is not None
    assert task.raised_on is not None


def test_a_yearly_chore_gives_way_to_the_next_year_and_no_sooner(world: World) -> None:
    a_chore(world, repeat="years")
    plan_chores(now=NOON)
    plan_chores(now=at(TODAY + 364 * DAY))
    assert [state for _, state, _ in states()] == ["open", "open"]
    plan_chores(now=at(TODAY + 365 * DAY))
    assert states() == [
        (TODAY, "withdrawn", "Its next time has come."),
        (TODAY + 365 * DAY, "open", ""),
    ]


def test_a_late_chore_that_is_changed_says_what_it_is_now(world: World) -> None:
    chore = a_chore(world)
    plan_chores(now=NOON)
    changed(world, chore, TODAY + 80 * DAY, days_open=9)
    assert Task.objects.get().latest == TODAY + 9 * DAY


def test_a_day_that_comes_back_is_not_with_somebody_who_left(world: World) -> None:
    ana, bea = (MembershipFactory(garden=world.garden) for _ in range(2))
    chore = a_chore(world, repeat="weeks")
    plan_chores(now=NOON)
    task = Task.objects.order_by("best")[1]
    take(ana, task, now=NOON)
    changed(world, chore, TODAY, every=4)
    leave(ana, nameless=False, now=at(TODAY + DAY))
    changed(world, chore, TODAY + DAY, every=1)
    task.refresh_from_db()
    assert (task.state, task.assignee) == ("open", None)
    take(bea, task, now=at(TODAY + DAY))


def test_a_step_that_comes_back_is_not_with_somebody_who_left(world: World) -> None:
    ana = MembershipFactory(garden=world.garden)
    give_climate(world)
    refresh([world.plant], now=NOON)
    task = Task.objects.filter(state="open", chore=None).earliest("pk")
    take(ana, task, now=NOON)
    Task.objects.filter(pk=task.pk).update(state="withdrawn", closed_at=NOON, closed_why="Over.")
    leave(ana, nameless=False, now=at(TODAY, 13))
    refresh([world.plant], now=at(TODAY, 14))
    task.refresh_from_db()
    assert (task.state, task.assignee) == ("open", None)


def test_a_chore_follows_its_plant_to_another_site(world: World) -> None:
    chore = a_chore(world, repeat="weeks", plant=world.plant)
    plan_chores(now=NOON)
    far = SiteFactory(garden=world.garden)
    move = Draft(Kind.MOVED, TODAY, uuid4(), place=PlaceFactory(site=far))
    log(world.member, world.plant, move, now=NOON)
    plan_chores(now=at(TODAY, 13))
    chore.refresh_from_db()
    assert chore.site == far
    assert set(Task.objects.filter(chore=chore).values_list("site", flat=True)) == {far.pk}
    assert plan_chores(now=at(TODAY, 14)) == 0
