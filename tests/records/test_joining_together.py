"""One link opened by twenty people, two owners stepping down, one address asked for by many."""

import pytest

from lifecycle.models import AuditNote, Invitation, Joining, Membership, Person, Role, WaitingPerson
from lifecycle.records.people.accepting import join_as, join_as_new
from lifecycle.records.people.audit import note_once_a_day
from lifecycle.records.people.invitation_letters import LETTERS_A_DAY
from lifecycle.records.people.invitations import invite
from lifecycle.records.people.join_link import ask_to_join
from lifecycle.records.people.memberships import change_role
from lifecycle.records.people.waiting import ask_to_wait, still_waiting
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import new_nonce
from lifecycle.reminders.people.letters import send_letters
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PersonFactory
from tests.records.invitations import ADDRESS, an_invitation
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
MANY = 20


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def test_twenty_newcomers_with_one_link_are_one(world: World) -> None:
    made = an_invitation(world.coordinator)

    def join(number: int) -> Membership:
        given = {"name": f"Anna {number}", "password": "", "safety_read": False}
        return join_as_new(made, **given, now=NOON)

    answers = all_at_once(MANY, join)
    assert [isinstance(each, Membership) for each in answers].count(True) == 1, answers
    refused = [each for each in answers if isinstance(each, Refused)]
    assert len(refused) == MANY - 1
    assert all("has been used" in str(each) for each in refused)
    assert Person.objects.filter(email=ADDRESS).count() == 1


def test_twenty_people_with_one_forwarded_link_are_one_member(world: World) -> None:
    made = an_invitation(world.coordinator)
    people = [PersonFactory() for _ in range(MANY)]
    before = Membership.objects.filter(garden=world.garden).count()
    answers = all_at_once(
        MANY, lambda number: join_as(made, people[number], safety_read=False, now=NOON)
    )
    [winner] = [each for each in answers if isinstance(each, Membership)]
    assert sum(isinstance(each, Refused) for each in answers) == MANY - 1, answers
    assert Membership.objects.filter(garden=world.garden).count() == before + 1
    assert Invitation.objects.get(pk=made.pk).used_by == winner.person


def test_one_newcomer_in_several_gardens_at_once_is_one_person(world: World) -> None:
    owners = [MembershipFactory(role=Role.OWNER) for _ in range(6)]
    invitations = [an_invitation(owner) for owner in owners]

    def join(number: int) -> Membership:
        given = {"name": "Anna", "password": "", "safety_read": False}
        return join_as_new(invitations[number], **given, now=NOON)

    answers = all_at_once(len(owners), join)
    assert sum(isinstance(each, Membership) for each in answers) == 1, answers
    assert sum(isinstance(each, Refused) for each in answers) == len(owners) - 1, answers
    assert Person.objects.filter(email=ADDRESS).count() == 1


def test_one_address_is_invited_once(world: World) -> None:
    answers = all_at_once(MANY, lambda _: invite(world.coordinator, email=ADDRESS, now=NOON))
    assert sum(isinstance(each, Invitation) for each in answers) == 1, answers
    assert sum(isinstance(each, Refused) for each in answers) == MANY - 1, answers


def test_two_owners_cannot_both_step_down(world: World) -> None:
    other = MembershipFactory(garden=world.garden, role=Role.OWNER)
    owners = [world.owner, other]
    answers = all_at_once(
        2, lambda number: change_role(owners[number], owners[number], Role.MEMBER, now=NOON)
    )
    assert sum(isinstance(each, Refused) for each in answers) == 1, answers
    assert Membership.objects.filter(garden=world.garden, role=Role.OWNER).count() == 1


def test_the_garden_s_link_used_by_many_makes_one_row(world: World) -> None:
    world.garden.joining, world.garden.join_nonce = Joining.OPEN, new_nonce()
    world.garden.save()
    asked = {"name": "Anna", "email": ADDRESS, "now": NOON}
    assert all_at_once(MANY, lambda _: ask_to_join(world.garden, **asked)) == [None] * MANY
    assert sum(all_at_once(MANY, lambda _: send_letters(now=NOON))) == LETTERS_A_DAY
    assert Invitation.objects.filter(garden=world.garden).count() == 1
    assert all_at_once(MANY, lambda _: ask_to_wait(world.garden, note="", **asked)) == [None] * MANY
    assert still_waiting(WaitingPerson.objects.filter(garden=world.garden)).count() == 1


def test_twenty_looks_are_noted_once(world: World) -> None:
    about = world.member.person
    all_at_once(MANY, lambda _: note_once_a_day(world.owner, "roles_seen", now=NOON, about=about))
    assert AuditNote.objects.filter(act="roles_seen", about=about).count() == 1
