"""Work drafted to somebody who goes away before it is published is left out, and named."""

from datetime import date

import pytest

from lifecycle.models import Task, WorkDraft
from lifecycle.records.work.away import go_away
from lifecycle.records.work.week import draft
from lifecycle.records.work.week_publishing import Published, publish
from tests.conftest import World
from tests.factories import NOON
from tests.records.weeks import DAY, TODAY, a_chore_task, is_away

BEFORE, LATER = NOON.replace(hour=11), NOON.replace(hour=13)


def drafted(world: World, **window: date) -> Task:
    task = a_chore_task(world, "Turn the compost", **window)
    draft(world.coordinator, [task.pk], world.member.person, now=BEFORE)
    return task


def published(world: World) -> Published:
    return publish(world.coordinator, now=LATER)


def test_away_on_all_its_days_it_is_left_out_and_said_so(world: World) -> None:
    task = drafted(world, latest=TODAY + 2 * DAY)
    go_away(world.member, first_day=TODAY, last_day=TODAY + 9 * DAY, now=NOON)
    made = published(world)
    assert made.left_out == ["Turn the compost. Member is away on all its days."]
    assert (made.publication, made.people) == (None, [])
    task.refresh_from_db()
    assert task.assignee is None
    assert not WorkDraft.objects.exists()


@pytest.mark.parametrize(
    ("stretches", "gone"),
    [
        ([(0, 1)], False),  # back on the last day
        ([(1, 9)], False),  # still there today
        ([(0, 0), (1, 1), (2, 2)], True),
        ([(2, 5), (0, 1)], True),
        ([(0, 0), (2, 5)], False),
        ([(-9, 2)], True),
        ([], False),
    ],
)
def test_one_day_at_home_is_enough(
    world: World, stretches: list[tuple[int, int]], gone: bool
) -> None:
    drafted(world, earliest=TODAY - DAY, latest=TODAY + 2 * DAY)
    for first, last in stretches:
        is_away(world.member, TODAY + first * DAY, TODAY + last * DAY)
    assert bool(published(world).left_out) is gone


def test_who_was_away_when_it_was_drafted_stays_meant_for_it(world: World) -> None:
    is_away(world.member, TODAY, TODAY + 9 * DAY)
    task = a_chore_task(world)
    draft(world.coordinator, [task.pk], world.member.person, now=LATER)
    made = published(world)
    assert (made.left_out, made.people) == ([], [world.member.person_id])


@pytest.mark.parametrize(("last", "gone"), [(5, False), (6, True)])
def test_what_is_late_may_be_done_all_week(world: World, last: int, gone: bool) -> None:
    long_ago = TODAY - 9 * DAY
    drafted(world, earliest=long_ago, best=long_ago, latest=TODAY - DAY)
    is_away(world.member, TODAY, TODAY + last * DAY)
    assert bool(published(world).left_out) is gone


def test_others_and_what_goes_to_nobody_are_published(world: World) -> None:
    gone = drafted(world)
    is_away(world.member, TODAY, TODAY + 9 * DAY)
    kept, nobody = a_chore_task(world, "Mend the gate"), a_chore_task(world, "Rake the leaves")
    Task.objects.filter(pk=nobody.pk).update(assignee=world.member.person)
    draft(world.coordinator, [kept.pk], world.owner.person, now=NOON)
    draft(world.coordinator, [nobody.pk], None, now=NOON)
    made = published(world)
    assert len(made.left_out) == 1
    assert [task.pk for task in made.given[world.owner.person_id]] == [kept.pk]
    assert [task.pk for task in made.gone[world.member.person_id]] == [nobody.pk]
    gone.refresh_from_db()
    assert gone.assignee is None
