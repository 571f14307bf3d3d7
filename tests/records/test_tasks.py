"""What closes, refuses and hands out a task."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.life.kinds import Kind
from lifecycle.models import Task
from lifecycle.records.crops.entries import strike
from lifecycle.records.refusal import Refused
from lifecycle.records.work.tasks import cannot_do, decline, give, give_back, reopen, take
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task, an_entry

pytestmark = pytest.mark.django_db


def state(task: Task) -> str:
    task.refresh_from_db()
    return task.state


def acts(task: Task) -> list[str]:
    return [event.act for event in task.events.all()]


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
    take(world.member, task, now=NOON)
    take(world.member, task, now=NOON)
    with pytest.raises(Refused, match=r"^Member has taken this already\.$"):
        take(other, task, now=NOON)
    with pytest.raises(PermissionDenied):
        give_back(other, task, now=NOON)
    with pytest.raises(PermissionDenied):
        give(world.member, task, other.person, now=NOON)
    give(world.coordinator, task, other.person, now=NOON)
    task.refresh_from_db()
    assert task.assignee == other.person
    give_back(other, task, now=NOON)
    with pytest.raises(Refused, match="nothing to give back"):
        give_back(other, task, now=NOON)
    with pytest.raises(Refused, match="not a member"):
        give(world.coordinator, task, world.outsider, now=NOON)
    with pytest.raises(Refused, match="here to read"):
        give(world.coordinator, task, world.committee.person, now=NOON)
    with pytest.raises(PermissionDenied):
        take(world.committee, task, now=NOON)
    assert acts(task) == ["taken", "given", "given_back"]


def test_a_coordinator_is_told_what_changed_since_the_page_was_shown(world: World) -> None:
    task = a_task(world.plant, "lift")
    take(world.member, task, now=NOON)
    with pytest.raises(Refused, match="Member has taken this meanwhile"):
        give(world.coordinator, task, world.owner.person, now=NOON, seen=None)
    give(world.coordinator, task, None, now=NOON, seen=world.member.person_id)
    task.refresh_from_db()
    assert task.assignee is None
    assert acts(task) == ["taken", "given_back"]


def test_declining_says_why_and_leaves_it_to_others(world: World) -> None:
    task = a_task(world.plant, "lift")
    give(world.coordinator, task, world.owner.person, now=NOON)
    with pytest.raises(Refused, match="not with you"):
        decline(world.member, task, now=NOON)
    with pytest.raises(Refused, match="201 characters"):
        decline(world.owner, task, why="x" * 201, now=NOON)
    decline(world.owner, task, why=" No time ", now=NOON)
    task.refresh_from_db()
    assert task.assignee is None
    last = task.events.last()
    assert (last.act, last.note, last.by) == ("declined", "No time", world.owner.person)


def test_what_cannot_be_done_may_be_opened_again(world: World) -> None:
    task, other = a_task(world.plant, "lift"), MembershipFactory(garden=world.garden)
    cannot_do(world.member, task, "No spade", now=NOON)
    with pytest.raises(PermissionDenied):
        reopen(other, task, now=NOON)
    reopen(world.member, task, now=NOON + timedelta(days=3))
    reopen(world.member, task, now=NOON)
    assert state(task) == "open"
    assert (task.closed_at, task.closed_by, task.closed_why) == (None, None, "")
    assert acts(task) == ["cannot", "reopened"]


def test_what_an_entry_did_opens_with_the_entry(world: World) -> None:
    task = a_task(world.plant, "lift")
    entry = an_entry(world.member, world.plant, Kind.LIFTED)
    with pytest.raises(Refused, match="Strike the entry"):
        reopen(world.member, task, now=NOON)
    strike(world.member, entry, "", now=NOON)
    assert state(task) == "open"
    assert acts(task) == ["done", "reopened"]
    withdrawn = a_task(world.plant, "mulch", state="withdrawn", closed_why="The plan changed.")
    with pytest.raises(Refused, match=r"The plan changed\. A task comes back by itself"):
        reopen(world.coordinator, withdrawn, now=NOON)


def test_a_task_of_another_garden_or_closed_is_not_handed_out(world: World) -> None:
    task, stranger = a_task(world.plant, "lift"), MembershipFactory(role="owner")
    with pytest.raises(Task.DoesNotExist):
        take(stranger, task, now=NOON)
    closed = {"state": "done", "closed_by": world.owner.person, "closed_at": NOON}
    Task.objects.filter(pk=task.pk).update(**closed)
    with pytest.raises(Refused, match=r"Done by Owner at 12:00\. This task is no longer open"):
        take(world.member, task, now=NOON)
    with pytest.raises(Refused, match=r"Done by Owner on 14 October\."):
        take(world.member, task, now=NOON + timedelta(days=1))
