"""The same hand-over accepted by twenty at once; leaving and erasing at the same moment."""

from datetime import timedelta
from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import HandOver, Membership, Person, Role, TaskEvent
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.people.erasing import take_name_out
from lifecycle.records.people.handing import accept, accept_for, propose, take_effect
from lifecycle.records.people.handing_load import load_of
from lifecycle.records.people.leaving import WINDOW, leave
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_task
from tests.records.handings import TODAY, a_receiver, proposed
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
MANY = 20


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def test_twenty_accept_and_one_wins(world: World) -> None:
    ben = a_receiver(world)
    task = a_task(world.plant, "cut_back", assignee=world.member.person)
    made = proposed(world, ben)

    def act(index: int) -> HandOver:
        verb, actor = (accept_for, world.coordinator) if index % 2 else (accept, ben)
        return verb(actor, made, now=NOON)

    found = all_at_once(MANY, act)
    won = [each for each in found if isinstance(each, HandOver)]
    told = [str(each) for each in found if isinstance(each, Refused)]
    assert (len(won), len(told)) == (1, MANY - 1), found
    assert all("accepted this already" in each or "noted already" in each for each in told), told
    assert world.plant.entries.filter(kind=Kind.HANDED_OVER).count() == 1
    assert TaskEvent.objects.filter(task=task, act=TaskEvent.Act.HANDED_OVER).count() == 1
    assert list(mismatches()) == []


def test_twenty_ticks_carry_it_out_once(world: World) -> None:
    ben = a_receiver(world)
    made = proposed(world, ben, from_day=TODAY + timedelta(1))
    accept(ben, made, now=NOON)
    found = all_at_once(MANY, lambda _: take_effect(made, now=NOON + timedelta(1)))
    assert [isinstance(each, HandOver) for each in found].count(True) == 1, found
    assert not [each for each in found if isinstance(each, Exception)]
    assert world.plant.entries.filter(kind=Kind.HANDED_OVER).count() == 1


def test_twenty_propose_one_plant_and_one_wins(world: World) -> None:
    ben = a_receiver(world)

    def act(_: int) -> HandOver:
        return propose(
            world.member,
            load_of(world.plant),
            giver=world.member.person,
            to=ben.person,
            from_day=TODAY,
            uuid=uuid4(),
            now=NOON,
        )

    found = all_at_once(MANY, act)
    assert [isinstance(each, HandOver) for each in found].count(True) == 1, found
    assert [isinstance(each, Refused) for each in found].count(True) == MANY - 1, found


def test_two_owners_do_not_leave_at_the_same_moment(world: World) -> None:
    second = MembershipFactory(garden=world.garden, role=Role.OWNER)
    owners = (world.owner, second)
    found = all_at_once(2, lambda index: leave(owners[index], nameless=False, now=NOON))
    assert [isinstance(each, Refused) for each in found].count(True) == 1, found
    assert (
        Membership.objects.filter(
            garden=world.garden, role=Role.OWNER, left_on__isnull=True
        ).count()
        == 1
    )


def test_twenty_ticks_make_one_stand_in(world: World) -> None:
    left = leave(world.member, nameless=True, now=NOON)
    found = all_at_once(MANY, lambda _: take_name_out(left, now=NOON + WINDOW))
    assert [each is True for each in found].count(True) == 1, found
    assert not [each for each in found if isinstance(each, Exception)], found
    assert Person.objects.filter(name="Former member").count() == 1
    assert list(mismatches()) == []
