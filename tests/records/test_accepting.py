"""Joining by an invitation: once, by the address it went to, and never into another's account."""

from datetime import timedelta

import pytest

from lifecycle.models import AuditNote, BedHolding, Invitation, Membership, Person, Role
from lifecycle.records.people.accepting import join_as, join_as_new
from lifecycle.records.people.invitations import send_again, take_back
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, PASSWORD, MembershipFactory, PersonFactory
from tests.records.invitations import ADDRESS, an_invitation


def join_new(invitation: Invitation, **more: object) -> Membership:
    given = {"name": "Anna Berg", "password": "", "safety_read": False, "now": NOON, **more}
    return join_as_new(invitation, **given)


def test_a_newcomer_is_a_member_with_an_account(world: World) -> None:
    world.owner.person.temperature = Person.Temperature.FAHRENHEIT
    world.owner.person.save()
    made = an_invitation(world.coordinator)
    member = join_new(made, password=PASSWORD)
    assert (member.garden, member.role, member.joined_on) == (
        world.garden,
        Role.MEMBER,
        NOON.date(),
    )
    assert (member.person.email, member.person.name) == (ADDRESS, "Anna Berg")
    assert member.person.check_password(PASSWORD)
    assert member.person.temperature == Person.Temperature.FAHRENHEIT
    made.refresh_from_db()
    assert (made.used_at, made.used_by) == (NOON, member.person)
    note = AuditNote.objects.get(act="joined")
    assert (note.by, note.about) == (member.person, member.person)


def test_without_a_password_there_is_none_to_guess(world: World) -> None:
    member = join_new(an_invitation(world.coordinator))
    assert not member.person.has_usable_password()


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "x" * 61}, "name"),
        ({"password": "short"}, "password"),
        ({"password": "password"}, "password"),
    ],
)
def test_what_is_refused_leaves_the_invitation(
    world: World, given: dict[str, str], field: str
) -> None:
    made = an_invitation(world.coordinator)
    with pytest.raises(Refused) as refused:
        join_new(made, **given)
    assert refused.value.field == field
    assert not Person.objects.filter(email=ADDRESS).exists()
    assert join_new(made)


def test_the_safety_notice_is_read_first(world: World) -> None:
    world.garden.safety = "Shut off the water main."
    world.garden.save()
    made = an_invitation(world.coordinator)
    with pytest.raises(Refused) as refused:
        join_new(made)
    assert refused.value.field == "safety_read"
    assert join_new(made, safety_read=True).safety_read_at == NOON


def test_an_invitation_works_once(world: World) -> None:
    made = an_invitation(world.coordinator)
    join_new(made)
    with pytest.raises(Refused, match="has been used"):
        join_new(made)
    with pytest.raises(Refused, match="has been used"):
        join_as(made, world.outsider, safety_read=False, now=NOON)


def test_what_is_over_lets_nobody_in(world: World) -> None:
    made = an_invitation(world.coordinator)
    with pytest.raises(Refused, match="14 days"):
        join_new(made, now=NOON + timedelta(days=14))
    send_again(world.coordinator, made, now=NOON)
    with pytest.raises(Refused, match="newer letter"):
        join_new(made)
    take_back(world.coordinator, made, now=NOON)
    with pytest.raises(Refused, match="taken back"):
        join_new(made)
    assert not Membership.objects.filter(person__email=ADDRESS).exists()


def test_an_account_is_never_opened_or_changed_by_an_invitation(world: World) -> None:
    known = PersonFactory(email=ADDRESS)
    made = an_invitation(world.coordinator)
    with pytest.raises(Refused, match="Sign in first"):
        join_new(made, password="another-long-password", name="Somebody")
    kept = Person.objects.get(pk=known.pk)
    assert kept.check_password(PASSWORD)
    assert kept.name == known.name
    member = join_as(made, known, safety_read=False, now=NOON)
    assert member.person == known


def test_a_member_joins_no_second_time(world: World) -> None:
    made = an_invitation(world.coordinator)
    with pytest.raises(Refused, match="belong to this garden already"):
        join_as(made, world.member.person, safety_read=False, now=NOON)
    made.refresh_from_db()
    assert made.used_at is None


def test_a_former_member_gets_a_membership_of_its_own(world: World) -> None:
    Membership.objects.filter(pk=world.member.pk).update(
        left_on=NOON.date(), role=Role.COORDINATOR, skills=["ladder"]
    )
    made = an_invitation(world.coordinator, world.member.person.email)
    again = join_as(made, world.member.person, safety_read=False, now=NOON)
    assert again.pk != world.member.pk
    assert (again.role, again.skills) == (Role.MEMBER, [])
    world.member.refresh_from_db()
    assert world.member.left_on == NOON.date()


def test_the_bed_is_held_from_the_day_of_joining(world: World) -> None:
    made = an_invitation(world.coordinator, place=world.bed)
    member = join_new(made)
    held = BedHolding.objects.get(person=member.person)
    assert (held.place, held.since, held.until) == (world.bed, NOON.date(), None)
    assert AuditNote.objects.get(act="joined").detail["bed_given"] is True


def test_a_bed_whose_giver_may_not_any_more_is_not_given(world: World) -> None:
    made = an_invitation(world.coordinator, place=world.bed)
    Membership.objects.filter(pk=world.coordinator.pk).update(role=Role.MEMBER)
    member = join_new(made)
    assert not BedHolding.objects.filter(person=member.person).exists()
    assert AuditNote.objects.get(act="joined").detail["bed_given"] is False


def test_several_gardens(world: World) -> None:
    other = MembershipFactory(role=Role.OWNER)
    person = join_new(an_invitation(world.coordinator)).person
    second = join_as(an_invitation(other), person, safety_read=False, now=NOON)
    assert {each.garden_id for each in Membership.objects.filter(person=person)} == {
        world.garden.pk,
        second.garden_id,
    }
