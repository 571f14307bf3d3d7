"""Settling which plant this is while others write of the same plants."""

from datetime import date
from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import Plant, Swap
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log, strike
from lifecycle.records.crops.identity import settle_pair
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, a_plant, an_entry
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
TODAY = NOON.date()


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


@pytest.fixture
def other(world: World) -> Plant:
    return a_plant(world.member, world.bed)


def settle(world: World, first: Plant, second: Plant, uuid=None) -> Swap | None:
    given = {"how": "fruit", "until": None, "happened_on": TODAY, "note": "", "now": NOON}
    since = date(2026, 7, 1)
    return settle_pair(world.member, first, second, since=since, uuid=uuid or uuid4(), **given)


def test_one_settlement_sent_ten_times_is_one(world: World, other: Plant) -> None:
    uuid = uuid4()
    made = all_at_once(10, lambda _: settle(world, world.plant, other, uuid))
    assert all(isinstance(each, Swap | Refused) for each in made), made
    assert Swap.objects.count() == 1
    assert list(mismatches()) == []


def test_entries_that_come_in_meanwhile_are_counted_once(world: World, other: Plant) -> None:
    pair = [world.plant, other]
    struck = [an_entry(world.member, plant, Kind.PICKED, quantity=5.0) for plant in pair]

    def act(index: int) -> object:
        if index < 2:
            return settle(world, *(pair if index else pair[::-1]))
        if index < 4:
            return strike(world.member, struck[index - 2], "", now=NOON)
        return log(world.member, pair[index % 2], Draft(Kind.WATERED, TODAY), now=NOON)

    made = all_at_once(16, act)
    problems = [each for each in made if isinstance(each, Exception)]
    assert all(isinstance(each, Refused) for each in problems), problems
    assert list(mismatches()) == []
