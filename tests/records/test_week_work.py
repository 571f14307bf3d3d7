"""The week's work: which tasks are one piece, how long it takes, who could do it."""

from datetime import date

import pytest

from lifecycle.models import Membership, Plant, Task
from lifecycle.records.work.week import draft
from lifecycle.records.work.week_work import Week, loads, week_of
from tests.conftest import World
from tests.factories import (
    NOON,
    GardenFactory,
    PlaceFactory,
    SiteFactory,
    a_plant,
    a_sowing,
    a_task,
)
from tests.records.weeks import (
    DAY,
    TODAY,
    a_chore_task,
    a_day_of,
    a_free_task,
    a_worker,
    held_by,
    is_away,
)


def the_week(world: World) -> Week:
    return week_of(world.garden, now=NOON)


def test_tasks_of_one_kind_in_one_place_are_one_piece(world: World) -> None:
    bed = PlaceFactory(site=world.site)
    tasks = {a_free_task(world, bed=bed) for _ in range(9)}
    a_free_task(world, "feed", bed=bed)
    a_free_task(world)
    pieces = {len(piece.tasks): piece for piece in the_week(world).pieces}
    assert len(the_week(world).pieces) == 3
    assert set(pieces[9].tasks) == tasks
    # Fetching once, and nine plants.
    assert pieces[9].minutes == 80


def test_those_who_have_it_part_a_piece(world: World) -> None:
    bed = PlaceFactory(site=world.site)
    held_by(world.member.person, a_free_task(world, bed=bed))
    a_free_task(world, bed=bed)
    taken = a_free_task(world, bed=bed)
    Task.objects.filter(pk=taken.pk).update(assignee=world.owner.person)
    minders = {piece.minder for piece in the_week(world).pieces}
    assert minders == {None, world.member.person_id, world.owner.person_id}


def test_each_day_of_a_chore_is_a_piece(world: World) -> None:
    first = a_chore_task(world, minutes=12)
    a_day_of(first.chore, TODAY + DAY)  # type: ignore[arg-type]
    pieces = the_week(world).pieces
    assert [piece.minutes for piece in pieces] == [15, 15]
    assert [len(piece.tasks) for piece in pieces] == [1, 1]


@pytest.mark.parametrize(
    ("earliest", "latest", "days"),
    [
        (TODAY - 5 * DAY, TODAY - DAY, 7),
        (TODAY - DAY, TODAY, 1),
        (TODAY + 5 * DAY, TODAY + 20 * DAY, 2),
        (TODAY + 6 * DAY, TODAY + 6 * DAY, 1),
        (TODAY + 7 * DAY, TODAY + 8 * DAY, 0),
    ],
)
def test_the_days_of_the_week_on_which_it_can_be_done(
    world: World, earliest: date, latest: date, days: int
) -> None:
    a_free_task(world, earliest=earliest, best=earliest, latest=latest)
    found = [piece.days for piece in the_week(world).pieces]
    assert [len(each) for each in found] == ([days] if days else [])


def test_the_week_is_that_of_each_sites_own_calendar(world: World) -> None:
    # At noon UTC it is tomorrow already at the antimeridian.
    far = SiteFactory(garden=world.garden, time_zone="Pacific/Kiritimati")
    opens = TODAY + 7 * DAY
    plant = a_plant(world.coordinator, PlaceFactory(site=far), holder=None)
    a_task(plant, "feed", earliest=opens, best=opens, latest=opens)
    a_free_task(world, "feed", earliest=opens, best=opens, latest=opens)
    assert [piece.tasks[0].plant_id for piece in the_week(world).pieces] == [plant.pk]


def test_what_is_drafted_stays_on_the_page_when_its_window_moves(world: World) -> None:
    task = a_free_task(world)
    draft(world.coordinator, [task.pk], world.member.person, now=NOON)
    days = dict.fromkeys(("earliest", "best", "latest"), TODAY + 30 * DAY)
    Task.objects.filter(pk=task.pk).update(**days)
    assert [piece.tasks for piece in the_week(world).pieces] == [(task,)]


def test_what_is_closed_or_of_another_garden_is_not_there(world: World) -> None:
    a_free_task(world, state="done")
    a_free_task(world, state="withdrawn")
    elsewhere = Membership.objects.get(person=world.outsider)
    bed = PlaceFactory(site=elsewhere.garden.sites.get())
    a_task(a_plant(elsewhere, bed, holder=None), "feed")
    assert the_week(world).pieces == ()


def test_who_left_or_only_reads_has_nothing(world: World) -> None:
    held_by(world.committee.person, a_free_task(world))
    held_by(world.member.person, a_free_task(world))
    Membership.objects.filter(pk=world.member.pk).update(left_on=TODAY)
    week = the_week(world)
    assert {piece.minder for piece in week.pieces} == {None}
    assert world.committee.person_id not in week.workers
    assert world.member.person_id not in week.workers


def test_who_can_do_a_piece(world: World) -> None:
    ana = a_worker(world, "Ana", skills=["ladder"])
    a_chore_task(world, skill="ladder", earliest=TODAY, latest=TODAY + DAY)
    [piece] = the_week(world).pieces
    week = the_week(world)
    assert piece.possible_for(week.workers[ana.person_id])
    assert not piece.possible_for(week.workers[world.member.person_id])
    is_away(ana, TODAY - DAY, TODAY)
    assert piece.possible_for(the_week(world).workers[ana.person_id])
    is_away(ana, TODAY + DAY, TODAY + DAY)
    assert not piece.possible_for(the_week(world).workers[ana.person_id])


def test_whoever_has_it_needs_to_name_no_skill(world: World) -> None:
    task = a_free_task(world, "lift")
    held_by(world.member.person, task)
    Task.objects.filter(pk=task.pk).update(assignee=world.owner.person)
    week = the_week(world)
    [piece] = week.pieces
    assert piece.skill == "lifting"
    able = {pk for pk, worker in week.workers.items() if piece.possible_for(worker)}
    assert able == {world.member.person_id, world.owner.person_id}


def test_a_step_asks_for_the_skill_of_its_caution(world: World) -> None:
    a_free_task(world, "string")
    [piece] = the_week(world).pieces
    assert piece.skill == "ladder"


def test_loads_count_work_together_once(world: World) -> None:
    bed = PlaceFactory(site=world.site)
    free = [a_free_task(world, bed=bed) for _ in range(2)]
    held_by(world.member.person, free[0])
    week = the_week(world)
    member = world.member.person_id
    now = loads((piece, piece.minder) for piece in week.pieces)
    assert now == {member: 15}
    draft(world.coordinator, [free[1].pk], world.member.person, now=NOON)
    week = the_week(world)
    assert loads((piece, piece.meant_for) for piece in week.pieces) == {member: 25}


def test_a_clump_takes_as_long_as_its_plants(world: World) -> None:
    task = a_free_task(world)
    Plant.objects.filter(pk=task.plant_id).update(count=2)
    a_task(a_sowing(world.member, world.bench), "pot_up")
    assert [piece.minutes for piece in the_week(world).pieces] == [25, 45]


def test_whoever_did_it_last_is_known(world: World) -> None:
    old, older = (a_free_task(world, growing_year=year) for year in (2025, 2024))
    for task, who, days in ((old, world.owner, 300), (older, world.member, 400)):
        Task.objects.filter(pk=task.pk).update(
            plant=old.plant_id,
            state="done",
            closed_by=who.person,
            closed_at=NOON - days * DAY,
        )
    a_task(old.plant, "cut_back")  # type: ignore[arg-type]
    assert [piece.before for piece in the_week(world).pieces] == [world.owner.person_id]
    Membership.objects.filter(pk=world.owner.pk).update(left_on=TODAY)
    assert [piece.before for piece in the_week(world).pieces] == [None]


def test_a_garden_without_ground_has_a_week_without_work(world: World) -> None:
    week = week_of(GardenFactory(), now=NOON)
    assert (week.pieces, week.workers) == ((), {})
    assert week.last_day - week.first_day == 6 * DAY


def test_the_key_of_what_changed_finds_nothing(world: World) -> None:
    task = a_free_task(world)
    [piece] = the_week(world).pieces
    assert the_week(world).chosen([piece.key]) == [piece]
    Task.objects.filter(pk=task.pk).update(assignee=world.owner.person)
    assert the_week(world).chosen([piece.key]) == []
