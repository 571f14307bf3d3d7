"""Several tasks done with one tap, all that are still open."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Task
from lifecycle.records.refusal import Refused
from lifecycle.records.work.doing import do_tasks
from lifecycle.records.work.tasks import reopen
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task, an_entry
from tests.records.works import TODAY, a_chore, a_chore_task

pytestmark = pytest.mark.django_db


def test_what_others_did_meanwhile_is_left_and_named(world: World) -> None:
    plants = [world.plant, *(a_plant(world.owner, world.bed) for _ in range(2))]
    tasks = [a_task(plant, "cut_back") for plant in plants]
    an_entry(world.owner, world.plant, Kind.CUT_BACK)
    doing = do_tasks(world.member, tasks, form_id=uuid4(), now=NOON)
    assert [task.plant_id for task in doing.done] == [plant.pk for plant in plants[1:]]
    assert [str(task.closed_by) for task in doing.before] == ["Owner"]
    assert len(doing.logged) == 2
    assert Entry.objects.filter(kind=Kind.CUT_BACK).count() == 3


def test_the_same_form_twice_writes_once(world: World) -> None:
    task, form_id = a_task(world.plant, "cut_back"), uuid4()
    do_tasks(world.member, [task], form_id=form_id, now=NOON)
    again = do_tasks(world.member, [task], form_id=form_id, now=NOON)
    assert (again.done, again.logged) == ([], [])
    assert [task.pk for task in again.before] == [task.pk]
    assert Entry.objects.filter(kind=Kind.CUT_BACK).count() == 1


def test_all_or_none(world: World) -> None:
    young = a_plant(world.owner, world.bed, phase="seedling", name="Young")
    tasks = [a_task(world.plant, "cut_back"), a_task(young, "cut_back")]
    with pytest.raises(Refused, match=r"^Young: "):
        do_tasks(world.member, tasks, form_id=uuid4(), now=NOON)
    assert not Entry.objects.filter(kind=Kind.CUT_BACK).exists()
    assert set(Task.objects.values_list("state", flat=True)) == {"open"}


def test_what_no_tap_does_or_counts_too_early(world: World) -> None:
    with pytest.raises(Refused, match="needs more than a tap"):
        do_tasks(world.member, [a_task(world.plant, "winter_quarters")], form_id=uuid4(), now=NOON)
    early = a_task(world.plant, "lift", counts_from=TODAY + timedelta(1))
    with pytest.raises(Refused, match="counts for this task from 15 October"):
        do_tasks(world.member, [early], form_id=uuid4(), now=NOON)
    with pytest.raises(PermissionDenied):
        do_tasks(world.committee, [early], form_id=uuid4(), now=NOON)


def test_tasks_of_another_garden_are_not_there(world: World) -> None:
    task, stranger = a_task(world.plant, "cut_back"), MembershipFactory(role="owner")
    doing = do_tasks(stranger, [task], form_id=uuid4(), now=NOON)
    assert (doing.done, doing.before, doing.logged) == ([], [], [])
    task.refresh_from_db()
    assert task.state == "open"


def test_a_chore_is_done_without_an_entry_and_undone_the_same_day(world: World) -> None:
    task = a_chore_task(a_chore(world))
    other = MembershipFactory(garden=world.garden)
    doing = do_tasks(world.member, [task], form_id=uuid4(), now=NOON)
    assert [each.pk for each in doing.done] == [task.pk]
    task.refresh_from_db()
    assert (task.state, task.entry, task.closed_by) == ("done", None, world.member.person)
    with pytest.raises(PermissionDenied):
        reopen(other, task, now=NOON)
    with pytest.raises(Refused, match="Undo is for the same day"):
        reopen(world.member, task, now=NOON + timedelta(days=1))
    reopen(world.coordinator, task, now=NOON)
    task.refresh_from_db()
    assert task.state == "open"
    assert [event.act for event in task.events.all()] == ["done", "reopened"]


def test_steps_and_chores_together(world: World) -> None:
    tasks = [
        a_task(world.plant, "cut_back"),
        a_chore_task(a_chore(world)),
        a_chore_task(a_chore(world, title="Rake", first_day=date(2026, 10, 20))),
    ]
    doing = do_tasks(world.member, tasks, form_id=uuid4(), now=NOON)
    assert len(doing.done) == 3
    assert len(doing.logged) == 1
