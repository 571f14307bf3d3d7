"""Leaving and acting at the same moment leaves no task with somebody who is gone."""

import pytest

from lifecycle.models import Membership, Task
from lifecycle.records.people.leaving import take_out
from lifecycle.records.work.tasks import give, give_back, take
from tests.conftest import World
from tests.factories import NOON, a_task
from tests.records.handings import a_receiver
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def test_taking_and_being_taken_out(world: World) -> None:
    kinds = ("cut_back", "lift", "mulch", "feed")
    for number in range(4):
        ben = a_receiver(world, f"Ben {number}")
        tasks = [a_task(world.plant, kind, number=number + 1) for kind in kinds]

        def act(index: int, ben: Membership = ben, tasks: list[Task] = tasks) -> Task | Membership:
            if index == 0:
                return take_out(world.coordinator, ben, now=NOON)
            if index % 2:
                return take(ben, tasks[index % 4], now=NOON)
            return give(world.owner, tasks[index % 4], ben.person, now=NOON)

        found = all_at_once(9, act)
        assert isinstance(found[0], Membership), found
        assert not Task.objects.filter(assignee=ben.person).exists()


def test_two_give_to_each_other_without_a_standstill(world: World) -> None:
    one = a_task(world.plant, "cut_back")
    two = a_task(world.plant, "lift")

    def act(index: int) -> Task:
        if index % 2:
            return give(world.owner, one, world.coordinator.person, now=NOON)
        return give(world.coordinator, two, world.owner.person, now=NOON)

    found = all_at_once(8, act)
    assert not [each for each in found if isinstance(each, Exception)], found
    assert give_back(world.owner, two, now=NOON).assignee is None
