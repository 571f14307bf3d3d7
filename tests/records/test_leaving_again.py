"""Going more than once, being taken out, a new role, an empty garden: nothing comes back alone."""

from datetime import timedelta

import pytest

from lifecycle.models import (
    BedHolding,
    Garden,
    HandOver,
    Joining,
    Membership,
    OnCallTurn,
    Person,
    Role,
    Task,
    TaskEvent,
)
from lifecycle.records.ground.holdings import let_go
from lifecycle.records.people.accepting import join_as
from lifecycle.records.people.erasing import forget_contacts
from lifecycle.records.people.erasing_asked import ask_to_be_erased, keep_account
from lifecycle.records.people.leaving import WINDOW, come_back, leave, take_out
from lifecycle.records.people.left import left_lately, open_returns
from lifecycle.records.people.memberships import change_role
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import code_for, new_nonce
from lifecycle.records.weather.sensors import address_by, new_address
from lifecycle.records.work.tasks import give, take
from lifecycle.reminders.people.leaving import leaving_all
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_task
from tests.records.handings import TODAY, a_holding, a_receiver, proposed
from tests.records.invitations import an_invitation
from tests.reminders.frost_nights import a_turn

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def rejoined(world: World, person: Person) -> Membership:
    invitation = an_invitation(world.coordinator, person.email)
    return join_as(invitation, person, safety_read=False, now=NOON)


def test_nobody_taken_out_comes_back_by_an_older_membership(world: World) -> None:
    person = world.member.person
    leave(world.member, nameless=False, now=NOON)
    again = rejoined(world, person)
    assert open_returns(person, NOON) == []
    take_out(world.coordinator, again, now=NOON + DAY)
    assert open_returns(person, NOON + DAY) == []
    with pytest.raises(Refused, match="too late"):
        come_back(person, Membership.objects.get(pk=world.member.pk), now=NOON + DAY)
    assert left_lately(NOON + DAY) == [again]


def test_an_older_wish_for_the_name_is_over_once_they_join_again(world: World) -> None:
    person = world.member.person
    leave(world.member, nameless=True, now=NOON)
    again = rejoined(world, person)
    leave(again, nameless=False, now=NOON + DAY)
    leaving_all(now=NOON + 2 * WINDOW)
    again.refresh_from_db()
    assert (again.person, again.person.name) == (person, "Member")
    assert Membership.objects.get(pk=world.member.pk).person == person


def test_taking_out_ends_a_waiting_invitation(world: World) -> None:
    waiting = an_invitation(world.coordinator, "anna@newcomer.example")
    member = MembershipFactory(garden=world.garden, person__email=waiting.email)
    take_out(world.coordinator, member, now=NOON)
    waiting.refresh_from_db()
    assert (waiting.revoked_at, waiting.revoked_by) == (NOON, world.coordinator.person)
    with pytest.raises(Refused, match="taken back"):
        join_as(waiting, member.person, safety_read=False, now=NOON)


def test_coming_back_ends_an_invitation_sent_meanwhile(world: World) -> None:
    leave(world.member, nameless=False, now=NOON)
    waiting = an_invitation(world.coordinator, world.member.person.email)
    come_back(world.member.person, world.member, now=NOON + DAY)
    waiting.refresh_from_db()
    assert waiting.revoked_at == NOON + DAY


def test_whom_to_call_is_forgotten_of_somebody_taken_out(world: World) -> None:
    Membership.objects.update(emergency_name="Lucía", emergency_phone="600 123 456")
    take_out(world.coordinator, world.member, now=NOON)
    assert forget_contacts(now=NOON) == 1
    assert forget_contacts(now=NOON) == 0
    world.member.refresh_from_db()
    assert world.member.emergency_name == ""


def test_keeping_the_account_keeps_what_was_chosen_before(world: World) -> None:
    person = world.member.person
    second, third = (MembershipFactory(person=person) for _ in range(2))
    leave(world.member, nameless=False, now=NOON)
    leave(second, nameless=True, now=NOON)
    ask_to_be_erased(person, now=NOON + DAY)
    keep_account(person, now=NOON + 2 * DAY)
    rows = Membership.objects.filter(person=person).order_by("pk")
    assert [row.nameless for row in rows] == [False, True, False]
    assert [row.pk for row in rows] == [world.member.pk, second.pk, third.pk]


def test_a_shared_bed_is_theirs_again(world: World, ben: Membership) -> None:
    mine = a_holding(world.bed, world.member)
    beside = a_holding(world.bed, ben)
    leave(world.member, nameless=False, now=NOON)
    come_back(world.member.person, world.member, now=NOON + DAY)
    for row in (mine, beside):
        row.refresh_from_db()
        assert row.until is None


def test_what_a_coordinator_ended_the_same_day_stays_ended(world: World) -> None:
    mine = a_holding(world.bed, world.member)
    let_go(world.coordinator, world.bed, world.member.person, TODAY, NOON)
    leave(world.member, nameless=False, now=NOON)
    come_back(world.member.person, world.member, now=NOON)
    mine.refresh_from_db()
    assert mine.until == TODAY


def test_a_role_without_work_gives_work_back(world: World, ben: Membership) -> None:
    task = a_task(world.plant, "cut_back", assignee=ben.person)
    holding = a_holding(world.bed, ben)
    a_turn(world.site, ben.person, first_day=TODAY + DAY, last_day=TODAY + 2 * DAY)
    offered = proposed(world, ben)
    change_role(world.owner, ben, Role.COMMITTEE, now=NOON)
    for row in (task, holding, offered):
        row.refresh_from_db()
    assert (task.assignee, holding.until) == (None, TODAY)
    assert (offered.state, offered.why) == (
        HandOver.State.CANCELLED,
        "The receiver is here to read now, not to look after plants.",
    )
    event = TaskEvent.objects.get(task=task, act=TaskEvent.Act.GIVEN_BACK)
    assert (event.by, event.to) == (world.owner.person, ben.person)
    assert not OnCallTurn.objects.exists()


def test_another_working_role_keeps_the_work(world: World, ben: Membership) -> None:
    task = a_task(world.plant, "cut_back", assignee=ben.person)
    change_role(world.owner, ben, Role.COORDINATOR, now=NOON)
    task.refresh_from_db()
    assert task.assignee == ben.person


def test_behind_the_last_one_the_garden_is_shut() -> None:
    alone = MembershipFactory(role=Role.OWNER)
    waiting = an_invitation(alone)
    Garden.objects.filter(pk=alone.garden_id).update(joining=Joining.OPEN, join_nonce=new_nonce())
    leave(alone, nameless=False, now=NOON)
    waiting.refresh_from_db()
    assert waiting.revoked_at == NOON
    garden = Garden.objects.get(pk=alone.garden_id)
    assert (garden.joining, garden.join_nonce) == (Joining.INVITED, None)


def test_others_ways_in_stay_open_behind_a_member(world: World) -> None:
    waiting = an_invitation(world.coordinator)
    leave(world.member, nameless=False, now=NOON)
    waiting.refresh_from_db()
    assert waiting.revoked_at is None


@pytest.mark.parametrize("out", [True, False])
def test_the_thermometers_secret_ends_with_its_maker(world: World, out: bool) -> None:
    maker = MembershipFactory(garden=world.garden, role=Role.COORDINATOR)
    address = new_address(maker, world.site, now=NOON)
    code = code_for("sensor", address.pk, address.nonce)
    assert address_by(address.pk, code) is not None
    if out:
        take_out(world.owner, maker, now=NOON)
    else:
        leave(maker, nameless=False, now=NOON)
    assert address_by(address.pk, code) is None


def test_who_left_meanwhile_takes_nothing(world: World, ben: Membership) -> None:
    task = a_task(world.plant, "cut_back")
    stale = Membership.objects.get(pk=ben.pk)
    leave(ben, nameless=False, now=NOON)
    with pytest.raises(Refused, match="do not belong to this garden any more"):
        take(stale, task, now=NOON)
    with pytest.raises(Refused, match="not a member"):
        give(world.coordinator, task, stale.person, now=NOON)


def test_who_has_another_role_meanwhile_loads_the_page_again(world: World, ben: Membership) -> None:
    task = a_task(world.plant, "cut_back")
    stale = Membership.objects.get(pk=ben.pk)
    change_role(world.owner, ben, Role.COMMITTEE, now=NOON)
    with pytest.raises(Refused, match="role in this garden has changed"):
        take(stale, task, now=NOON)


def test_the_tick_gives_back_what_is_stranded(world: World, ben: Membership) -> None:
    stranded = a_task(world.plant, "cut_back", assignee=ben.person)
    held = a_task(world.plant, "lift", assignee=world.member.person)
    Membership.objects.filter(pk=ben.pk).update(left_on=TODAY)
    leaving_all(now=NOON)
    assert leaving_all(now=NOON) == 0
    assert dict(Task.objects.values_list("pk", "assignee")) == {
        stranded.pk: None,
        held.pk: world.member.person_id,
    }
    event = TaskEvent.objects.get(task=stranded)
    assert (event.act, event.by) == (TaskEvent.Act.GIVEN_BACK, None)
    assert "does no work here any more" in event.note
    assert not BedHolding.objects.exists()
