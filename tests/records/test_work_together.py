"""Twenty people at the same task, group, offer and chore: one wins, the others are told who."""

from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import Chore, Entry, Membership, Task, TaskEvent
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.refusal import Refused
from lifecycle.records.work.chores import add_starters
from lifecycle.records.work.cover import cover_all
from lifecycle.records.work.doing import Doing, do_tasks
from lifecycle.records.work.offers import accept, offer, refuse
from lifecycle.records.work.tasks import cannot_do, give, take
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.threads import all_at_once
from tests.records.works import TODAY, a_chore, a_chore_task, covered

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
MANY = 20


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


@pytest.fixture
def people(world: World) -> list[Membership]:
    return [MembershipFactory(garden=world.garden, person__name=f"Person {n}") for n in range(MANY)]


def test_twenty_take_the_same_task(world: World, people: list[Membership]) -> None:
    task = a_task(world.plant, "lift")
    made = all_at_once(MANY, lambda n: take(people[n], task, now=NOON))
    won = [each for each in made if isinstance(each, Task)]
    lost = [each for each in made if isinstance(each, Refused)]
    assert (len(won), len(lost)) == (1, MANY - 1), made
    task.refresh_from_db()
    assert {str(each) for each in lost} == {f"{task.assignee} has taken this already."}
    assert TaskEvent.objects.filter(task=task).count() == 1


def test_twenty_mark_the_same_group_done(world: World, people: list[Membership]) -> None:
    plants = [a_plant(world.member, world.bed) for _ in range(5)]
    tasks = [a_task(plant, "cut_back") for plant in plants]
    # Each in an order of their own: nobody may wait for somebody who waits for them.
    made = all_at_once(
        MANY,
        lambda n: do_tasks(people[n], tasks[n % 5 :] + tasks[: n % 5], form_id=uuid4(), now=NOON),
    )
    assert all(isinstance(each, Doing) for each in made), made
    winners = [each for each in made if each.done]
    assert len(winners) == 1
    assert len(winners[0].done) == 5
    [who] = {task.closed_by for task in winners[0].done}
    for each in made:
        if each is not winners[0]:
            assert {task.closed_by for task in each.before} == {who}
            assert len(each.before) == 5
    for plant in plants:
        assert Entry.objects.filter(plant=plant, kind=Kind.CUT_BACK).count() == 1
    assert TaskEvent.objects.filter(act="done").count() == 5
    assert list(mismatches()) == []


def test_twenty_do_a_group_of_chores(world: World, people: list[Membership]) -> None:
    chores = [a_chore(world, title=f"Chore {n}") for n in range(4)]
    tasks = [a_chore_task(chore) for chore in chores]
    made = all_at_once(
        MANY,
        lambda n: do_tasks(people[n], tasks[::-1] if n % 2 else tasks, form_id=uuid4(), now=NOON),
    )
    assert all(isinstance(each, Doing) for each in made), made
    assert sorted(len(each.done) for each in made) == [0] * (MANY - 1) + [4]
    assert TaskEvent.objects.filter(act="done").count() == 4


def test_twenty_taps_on_the_same_offer(world: World, people: list[Membership]) -> None:
    ana = people[0]
    mine, theirs = a_task(world.plant, "lift"), a_task(a_plant(ana, world.bed), "mulch")
    made = offer(world.member, mine, ana.person, for_task=theirs, now=NOON)
    answers = all_at_once(MANY, lambda _: accept(ana, made, now=NOON))
    assert not [each for each in answers if isinstance(each, Exception)], answers
    for task, who in ((mine, ana), (theirs, world.member)):
        task.refresh_from_db()
        assert task.assignee == who.person
    assert TaskEvent.objects.filter(act="swapped").count() == 2


def test_an_offer_is_answered_once_while_others_reach_for_its_task(
    world: World, people: list[Membership]
) -> None:
    ana, task = people[0], a_task(world.plant, "lift")
    made = offer(world.member, task, ana.person, now=NOON)

    def act(n: int) -> object:
        if n % 4 == 0:
            return accept(ana, made, now=NOON)
        if n % 4 == 1:
            return refuse(ana, made, now=NOON)
        if n % 4 == 2:
            return take(people[n], task, now=NOON)
        return give(world.coordinator, task, people[n].person, now=NOON, seen=None)

    answers = all_at_once(MANY, act)
    unexpected = [
        each for each in answers if isinstance(each, Exception) and not isinstance(each, Refused)
    ]
    assert not unexpected, unexpected
    hands = TaskEvent.objects.filter(task=task, act__in=["taken", "given"])
    assert hands.count() == 1
    task.refresh_from_db()
    made.refresh_from_db()
    last = hands.get()
    assert task.assignee == (last.by if last.act == "taken" else last.to)
    assert made.state in ("taken", "refused", "past")


def test_done_and_cannot_never_both(world: World, people: list[Membership]) -> None:
    task = a_task(world.plant, "cut_back")

    def act(n: int) -> object:
        if n % 2:
            return cannot_do(people[n], task, "No shears", now=NOON)
        return do_tasks(people[n], [task], form_id=uuid4(), now=NOON)

    answers = all_at_once(MANY, act)
    closed = TaskEvent.objects.filter(task=task, act__in=["done", "cannot"])
    assert closed.count() == 1, answers
    task.refresh_from_db()
    entries = Entry.objects.filter(kind=Kind.CUT_BACK).count()
    assert entries == (1 if task.state == "done" else 0)


def test_the_list_is_picked_once(world: World) -> None:
    made = all_at_once(
        8, lambda _: add_starters(world.coordinator, world.site, ["tools", "paths"], now=NOON)
    )
    assert sum(len(each) for each in made if isinstance(each, list)) == 2, made
    assert Chore.objects.count() == 2


def test_cover_passes_on_once(world: World, people: list[Membership]) -> None:
    covered(world.member, people[0], TODAY, TODAY)
    tasks = [a_task(world.plant, kind, best=TODAY) for kind in ("lift", "mulch", "cut_back")]
    made = all_at_once(8, lambda _: cover_all(now=NOON))
    assert sum(each for each in made if isinstance(each, int)) == 3, made
    for task in tasks:
        assert [event.act for event in task.events.all()] == ["covered"]
