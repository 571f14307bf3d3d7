"""Roles, waivers, and what members say about themselves."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import AuditNote, Membership, Role
from lifecycle.records.people.audit import note_once_a_day
from lifecycle.records.people.leaving import take_out
from lifecycle.records.people.memberships import (
    change_role,
    describe_self,
    note_waiver,
    read_safety,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory


def test_an_owner_changes_a_role_and_it_is_noted(world: World) -> None:
    change_role(world.owner, world.member, Role.COORDINATOR, now=NOON)
    world.member.refresh_from_db()
    assert world.member.role == Role.COORDINATOR
    note = AuditNote.objects.get(act="role_changed")
    assert (note.by, note.about) == (world.owner.person, world.member.person)
    assert note.detail == {"was": "member", "role": "coordinator"}
    change_role(world.owner, world.member, Role.COORDINATOR, now=NOON)
    assert AuditNote.objects.filter(act="role_changed").count() == 1


@pytest.mark.parametrize("role", ["coordinator", "member", "committee"])
def test_nobody_else_changes_roles(world: World, role: str) -> None:
    actor = getattr(world, role)
    for target in (actor, world.member, world.owner):
        with pytest.raises(PermissionDenied):
            change_role(actor, target, Role.OWNER, now=NOON)
    assert Membership.objects.filter(garden=world.garden, role=Role.OWNER).count() == 1


def test_the_last_owner_stays_one(world: World) -> None:
    with pytest.raises(Refused, match="last one") as refused:
        change_role(world.owner, world.owner, Role.MEMBER, now=NOON)
    assert refused.value.field == "role"
    gone = MembershipFactory(garden=world.garden, role=Role.OWNER, left_on=NOON.date())
    assert gone.role == Role.OWNER
    with pytest.raises(Refused):
        change_role(world.owner, world.owner, Role.MEMBER, now=NOON)
    change_role(world.owner, world.coordinator, Role.OWNER, now=NOON)
    change_role(world.owner, world.owner, Role.MEMBER, now=NOON)
    world.owner.refresh_from_db()
    assert world.owner.role == Role.MEMBER


def test_a_role_of_another_garden_is_out_of_reach(world: World) -> None:
    elsewhere = MembershipFactory()
    for role in (Role.OWNER, Role.MEMBER):
        with pytest.raises(Refused, match="do not belong"):
            change_role(world.owner, elsewhere, role, now=NOON)
    with pytest.raises(Refused):
        change_role(world.owner, world.member, "gardener", now=NOON)


def test_who_takes_out_whom(world: World) -> None:
    other = MembershipFactory(garden=world.garden, role=Role.COORDINATOR)
    for target in (world.owner, other):
        with pytest.raises(PermissionDenied):
            take_out(world.coordinator, target, now=NOON)
    with pytest.raises(Refused, match="Leave this garden"):
        take_out(world.owner, world.owner, now=NOON)
    with pytest.raises(PermissionDenied):
        take_out(world.member, world.committee, now=NOON)
    take_out(world.coordinator, world.member, now=NOON)
    take_out(world.owner, other, now=NOON)
    for gone in (world.member, other):
        gone.refresh_from_db()
        assert gone.left_on == NOON.date()
    assert AuditNote.objects.filter(act="removed").count() == 2


def test_a_coordinator_notes_the_waiver(world: World) -> None:
    note_waiver(world.coordinator, world.member, date(2026, 3, 1), now=NOON)
    world.member.refresh_from_db()
    assert world.member.waiver_signed_on == date(2026, 3, 1)
    assert world.member.waiver_noted_by == world.coordinator.person
    with pytest.raises(Refused) as refused:
        note_waiver(world.coordinator, world.member, NOON.date() + timedelta(days=1), now=NOON)
    assert refused.value.field == "signed_on"
    note_waiver(world.coordinator, world.member, None, now=NOON)
    world.member.refresh_from_db()
    assert (world.member.waiver_signed_on, world.member.waiver_noted_by) == (None, None)
    with pytest.raises(PermissionDenied):
        note_waiver(world.member, world.member, date(2026, 3, 1), now=NOON)
    with pytest.raises(Refused):
        note_waiver(world.owner, MembershipFactory(), date(2026, 3, 1), now=NOON)


def say(member: Membership, **more: object) -> None:
    given = {
        "skills": ["lifting", "ladder"],
        "minutes_a_week": 90,
        "emergency_name": " Ben  Berg ",
        "emergency_phone": "+34  600 123 456",
        **more,
    }
    describe_self(member, **given)


def test_a_member_describes_themselves(world: World) -> None:
    say(world.member)
    world.member.refresh_from_db()
    assert world.member.skills == ["ladder", "lifting"]
    assert world.member.minutes_a_week == 90
    assert world.member.emergency_name == "Ben Berg"
    assert world.member.emergency_phone == "+34 600 123 456"
    say(world.committee, minutes_a_week=None, emergency_name="", emergency_phone="", skills=[])


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"skills": ["flying"]}, "skills"),
        ({"minutes_a_week": -1}, "minutes_a_week"),
        ({"minutes_a_week": 40 * 60 + 1}, "minutes_a_week"),
        ({"emergency_phone": "call me"}, "emergency_phone"),
        ({"emergency_phone": ""}, "emergency_phone"),
        ({"emergency_name": ""}, "emergency_name"),
        ({"emergency_name": "x" * 61}, "emergency_name"),
    ],
)
def test_what_cannot_be_said(world: World, given: dict[str, object], field: str) -> None:
    with pytest.raises(Refused) as refused:
        say(world.member, **given)
    assert refused.value.field == field
    world.member.refresh_from_db()
    assert (world.member.skills, world.member.emergency_name) == ([], "")


def test_describing_oneself_keeps_a_role_that_changed_meanwhile(world: World) -> None:
    stale = Membership.objects.get(pk=world.member.pk)
    change_role(world.owner, world.member, Role.COORDINATOR, now=NOON)
    say(stale)
    world.member.refresh_from_db()
    assert world.member.role == Role.COORDINATOR


def test_the_safety_notice(world: World) -> None:
    with pytest.raises(Refused, match="no safety notice"):
        read_safety(world.member, now=NOON)
    world.garden.safety = "Gloves for hot peppers."
    world.garden.save()
    world.member.refresh_from_db()
    read_safety(world.member, now=NOON)
    world.member.refresh_from_db()
    assert world.member.safety_read_at == NOON


def test_looking_is_noted_once_a_day(world: World) -> None:
    midnight = NOON.replace(hour=0)
    seen = {"about": world.member.person}
    assert note_once_a_day(world.owner, "roles_seen", now=midnight, **seen)
    assert not note_once_a_day(world.owner, "roles_seen", now=NOON, **seen)
    assert note_once_a_day(world.owner, "roles_seen", now=NOON, about=world.committee.person)
    assert note_once_a_day(world.coordinator, "roles_seen", now=NOON, **seen)
    assert note_once_a_day(world.owner, "roles_seen", now=midnight + timedelta(days=1), **seen)
    assert AuditNote.objects.filter(act="roles_seen").count() == 4
    with pytest.raises(KeyError):
        note_once_a_day(world.owner, "unheard_of", now=NOON)
