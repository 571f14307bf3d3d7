"""Offers and swaps: nobody has a task for them but by their own yes."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import Membership, Task, TaskOffer
from lifecycle.records.refusal import Refused
from lifecycle.records.work.offers import accept, offer, refuse, take_back
from lifecycle.records.work.tasks import cannot_do, give, take
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task

pytestmark = pytest.mark.django_db


@pytest.fixture
def ana(world: World) -> Membership:
    return MembershipFactory(garden=world.garden, person__name="Ana")


@pytest.fixture
def mine(world: World) -> Task:
    return a_task(world.plant, "lift")


@pytest.fixture
def theirs(world: World, ana: Membership) -> Task:
    return a_task(a_plant(ana, world.bed), "mulch")


def assignees(*tasks: Task) -> list[str | None]:
    for task in tasks:
        task.refresh_from_db()
    return [str(task.assignee) if task.assignee else None for task in tasks]


def acts(task: Task) -> list[str]:
    return [event.act for event in task.events.all()]


def test_it_stays_where_it_is_until_it_is_taken(world: World, ana: Membership, mine: Task) -> None:
    made = offer(world.member, mine, ana.person, now=NOON)
    assert assignees(mine) == [None]
    accept(ana, made, now=NOON)
    accept(ana, made, now=NOON)
    assert assignees(mine) == ["Ana"]
    assert acts(mine) == ["offered", "taken"]
    made.refresh_from_db()
    assert (made.state, made.answered_at) == ("taken", NOON)


def test_a_swap_changes_both_or_none(
    world: World, ana: Membership, mine: Task, theirs: Task
) -> None:
    made = offer(world.member, mine, ana.person, for_task=theirs, now=NOON)
    accept(ana, made, now=NOON)
    assert assignees(mine, theirs) == ["Ana", "Member"]
    assert acts(mine) == ["offered", "swapped"]
    assert acts(theirs) == ["swapped"]


def test_no_is_no(world: World, ana: Membership, mine: Task) -> None:
    made = offer(world.member, mine, ana.person, now=NOON)
    refuse(ana, made, now=NOON)
    refuse(ana, made, now=NOON)
    with pytest.raises(Refused, match="Ana said no to this already"):
        accept(ana, made, now=NOON)
    with pytest.raises(Refused, match="said no"):
        take_back(world.member, made, now=NOON)
    assert assignees(mine) == [None]
    offer(world.member, mine, ana.person, now=NOON)


def test_an_offer_can_be_taken_back_once(world: World, ana: Membership, mine: Task) -> None:
    made = offer(world.member, mine, ana.person, now=NOON)
    with pytest.raises(Refused, match="Member made this offer"):
        take_back(ana, made, now=NOON)
    take_back(world.coordinator, made, now=NOON)
    take_back(world.member, made, now=NOON)
    with pytest.raises(Refused, match="Member took this offer back"):
        accept(ana, made, now=NOON)
    assert [event.note for event in mine.events.all()] == ["", "taken back"]


@pytest.mark.parametrize("change", ["closed", "given", "withdrawn", "other side"])
def test_what_changed_meanwhile_ends_it(
    world: World, ana: Membership, mine: Task, theirs: Task, change: str
) -> None:
    made = offer(world.member, mine, ana.person, for_task=theirs, now=NOON)
    if change == "closed":
        cannot_do(world.member, mine, "Dead", now=NOON)
    elif change == "given":
        give(world.coordinator, mine, world.owner.person, now=NOON)
    elif change == "withdrawn":
        Task.objects.filter(pk=mine.pk).update(state="withdrawn", closed_why="The plan changed.")
    else:
        take(world.owner, theirs, now=NOON)
    with pytest.raises(Refused):
        accept(ana, made, now=NOON)
    made.refresh_from_db()
    assert made.state == TaskOffer.State.PAST
    assert "swapped" not in acts(mine) + acts(theirs)


def test_who_may_offer_what_to_whom(
    world: World, ana: Membership, mine: Task, theirs: Task
) -> None:
    with pytest.raises(Refused, match="not with you"):
        offer(ana, mine, world.member.person, now=NOON)
    with pytest.raises(Refused, match="with you already"):
        offer(world.member, mine, world.member.person, now=NOON)
    with pytest.raises(Refused, match="not a member"):
        offer(world.member, mine, world.outsider, now=NOON)
    with pytest.raises(Refused, match="here to read"):
        offer(world.member, mine, world.committee.person, now=NOON)
    with pytest.raises(Refused, match="not with Owner"):
        offer(world.member, mine, world.owner.person, for_task=theirs, now=NOON)
    with pytest.raises(PermissionDenied):
        offer(world.committee, mine, ana.person, now=NOON)
    stranger = MembershipFactory(role="owner")
    with pytest.raises(Refused):
        offer(stranger, mine, ana.person, now=NOON)
    offer(world.member, mine, ana.person, now=NOON)
    with pytest.raises(Refused, match="You offered it to Ana already"):
        offer(world.member, mine, world.owner.person, now=NOON + timedelta(1))


def test_only_the_one_asked_answers(world: World, ana: Membership, mine: Task) -> None:
    made = offer(world.member, mine, ana.person, now=NOON)
    for verb in (accept, refuse):
        with pytest.raises(Refused, match="offered to somebody else"):
            verb(world.owner, made, now=NOON)
