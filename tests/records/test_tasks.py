"""What closes, refuses and hands out a task."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.life.kinds import Kind
from lifecycle.models import Task
from lifecycle.records.refusal import Refused
from lifecycle.records.tasks import assign, cannot_do
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task, an_entry

pytestmark = pytest.mark.django_db


def state(task: Task) -> str:
    task.refresh_from_db()
    return task.state


def test_one_entry_does_one_step_of_a_series(world: World) -> None:
    checks = [
        a_task(world.plant, "winter_check", number=n, earliest=date(2026, 10, n)) for n in (2, 1)
    ]
    an_entry(world.member, world.plant, Kind.WINTER_CHECK, choice="sound")
    assert [state(task) for task in checks] == ["open", "done"]


def test_an_entry_before_the_step_counts_does_not_do_it(world: World) -> None:
    task = a_task(world.plant, "cut_back", counts_from=date(2026, 10, 2))
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 10, 1))
    assert state(task) == "open"
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 10, 2))
    assert state(task) == "done"


def test_an_entry_of_another_plant_or_kind_closes_nothing(world: World) -> None:
    task = a_task(world.plant, "cut_back")
    an_entry(world.member, a_plant(world.member, world.bed), Kind.CUT_BACK)
    an_entry(world.member, world.plant, Kind.WATERED)
    assert state(task) == "open"


def test_the_entry_of_a_task(world: World) -> None:
    assert STEP_RULES[a_task(world.plant, "lift").kind].done_by is Kind.LIFTED


def test_what_cannot_be_done_is_said_with_a_reason(world: World) -> None:
    task = a_task(world.plant, "lift")
    for why in ("", "   ", "x" * 201):
        with pytest.raises(Refused):
            cannot_do(world.member, task, why, now=NOON)
    with pytest.raises(PermissionDenied):
        cannot_do(world.committee, task, "No spade", now=NOON)
    with pytest.raises(Refused):
        cannot_do(MembershipFactory(), task, "No spade", now=NOON)
    cannot_do(world.member, task, " No spade ", now=NOON)
    assert state(task) == "cannot"
    assert (task.closed_why, task.closed_by) == ("No spade", world.member.person)
    with pytest.raises(Refused, match="no longer open"):
        cannot_do(world.member, task, "Again", now=NOON)


def test_taking_giving_back_and_handing_out(world: World) -> None:
    task, other = a_task(world.plant, "lift"), MembershipFactory(garden=world.garden)
    assign(world.member, task, world.member.person)
    with pytest.raises(PermissionDenied):
        assign(other, task, other.person)
    with pytest.raises(PermissionDenied):
        assign(other, task, None)
    with pytest.raises(PermissionDenied):
        assign(world.member, task, other.person)
    assign(world.coordinator, task, other.person)
    task.refresh_from_db()
    assert task.assignee == other.person
    assign(other, task, None)
    with pytest.raises(Refused, match="not a member"):
        assign(world.coordinator, task, world.outsider)
    with pytest.raises(PermissionDenied):
        assign(world.committee, task, world.committee.person)


def test_a_task_of_another_garden_or_closed_is_not_handed_out(world: World) -> None:
    task, stranger = a_task(world.plant, "lift"), MembershipFactory(role="owner")
    with pytest.raises(Task.DoesNotExist):
        assign(stranger, task, stranger.person)
    Task.objects.filter(pk=task.pk).update(state="done")
    with pytest.raises(Refused, match="no longer open"):
        assign(world.member, task, world.member.person)
