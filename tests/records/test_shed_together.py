"""One tool, twenty people, the same moment."""

from uuid import uuid4

import pytest

from lifecycle.models import Membership, ToolLoan
from lifecycle.records.ground.shed import add_tool, bring_back, take_out
from lifecycle.records.refusal import Refused
from lifecycle.records.year.closing import close_year
from lifecycle.records.year.giving import give
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def test_one_of_twenty_gets_it_and_the_others_are_told_who(world: World) -> None:
    tool = add_tool(
        world.owner, world.site, kind="key", name="Key of the gate", kept_in="", note=""
    )
    people: list[Membership] = [MembershipFactory(garden=world.garden) for _ in range(20)]
    made = all_at_once(20, lambda index: take_out(people[index], tool, now=NOON))
    [loan] = [each for each in made if isinstance(each, ToolLoan)]
    refused = [each for each in made if isinstance(each, Refused)]
    assert len(refused) == 19
    assert {str(each) for each in refused} == {
        f"{loan.person} has Key of the gate since 14 October. Ask them for it."
    }
    assert ToolLoan.objects.count() == 1
    back = all_at_once(10, lambda _: bring_back(world.owner, loan, now=NOON))
    assert not [each for each in back if isinstance(each, Exception)]
    assert ToolLoan.objects.filter(back_at=NOON).count() == 1


def test_a_gift_sent_ten_times_is_one(world: World) -> None:
    once = uuid4()
    made = all_at_once(
        10,
        lambda _: give(
            world.member,
            uuid=once,
            site=world.site,
            given_on=NOON.date(),
            grams=500.0,
            to="food_bank",
            species="",
            note="",
            now=NOON,
        ),
    )
    assert len({each.pk for each in made}) == 1


def test_a_year_closed_by_ten_people_is_closed_once(world: World) -> None:
    made = all_at_once(10, lambda _: close_year(world.owner, 2025, now=NOON))
    assert len({each.pk for each in made}) == 1
