"""Inviting: who may, whom, how long, sent again, taken back."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import AuditNote, Invitation, Letter, Role, WaitingPerson
from lifecycle.records.people.invitation_letters import LETTERS_A_DAY
from lifecycle.records.people.invitation_standing import (
    LASTS,
    Standing,
    standing_for_reader,
    standing_of,
)
from lifecycle.records.people.invitations import (
    invitation_of,
    link_path,
    send_again,
    take_back,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, GardenFactory, MembershipFactory, PlaceFactory, SiteFactory
from tests.records.invitations import ADDRESS, an_invitation


def code_of(invitation: Invitation) -> str:
    return link_path(invitation).rsplit("/", 1)[1]


def test_an_invitation_is_a_letter_good_for_fourteen_days(world: World) -> None:
    made = an_invitation(world.coordinator, " Anna@Newcomer.Example ", name=" Anna  Berg ")
    assert (made.email, made.name, made.role) == (ADDRESS, "Anna Berg", Role.MEMBER)
    assert made.expires_at == NOON + timedelta(days=14)
    letter = Letter.objects.get(invitation=made)
    assert (letter.email, letter.about, letter.expires_at) == (
        ADDRESS,
        Letter.About.INVITATION,
        made.expires_at,
    )
    assert invitation_of(made.pk, code_of(made)) == made
    note = AuditNote.objects.get(act="invited")
    assert note.by == world.coordinator.person
    assert ADDRESS not in str(note.detail)


def test_the_code_stands_in_no_table(world: World) -> None:
    made = an_invitation(world.coordinator)
    code = code_of(made)
    for table in (Invitation, Letter, AuditNote):
        assert all(code not in str(row) for row in table.objects.values())


def test_where_an_invitation_stands(world: World) -> None:
    made = an_invitation(world.coordinator)
    assert standing_of(made, NOON + LASTS - timedelta(seconds=1)) == Standing.WAITING
    assert standing_of(made, NOON + LASTS) == Standing.EXPIRED
    take_back(world.coordinator, made, now=NOON)
    made.refresh_from_db()
    assert standing_of(made, NOON) == Standing.TAKEN_BACK
    assert standing_of(made, NOON + LASTS) == Standing.TAKEN_BACK
    made.used_at = NOON
    assert standing_of(made, NOON) == Standing.USED


@pytest.mark.parametrize("role", ["member", "committee"])
def test_only_who_leads_invites(world: World, role: str) -> None:
    with pytest.raises(PermissionDenied):
        an_invitation(getattr(world, role))
    made = an_invitation(world.owner)
    for verb in (send_again, take_back):
        with pytest.raises(PermissionDenied):
            verb(getattr(world, role), made, now=NOON)


@pytest.mark.parametrize("role", [Role.OWNER, Role.COORDINATOR, Role.COMMITTEE])
def test_only_an_owner_gives_a_role(world: World, role: Role) -> None:
    with pytest.raises(PermissionDenied):
        an_invitation(world.coordinator, role=role)
    made = an_invitation(world.owner, role=role)
    assert made.role == role
    for verb in (send_again, take_back):
        with pytest.raises(PermissionDenied):
            verb(world.coordinator, made, now=NOON)
    with pytest.raises(Refused):
        an_invitation(world.owner, "b@newcomer.example", role="gardener")


def test_an_owner_s_invitation_ends_with_the_owner_s_role(world: World) -> None:
    made = an_invitation(world.owner, role=Role.OWNER)
    plain = an_invitation(world.owner, "b@newcomer.example")
    assert standing_for_reader(made, NOON) == Standing.WAITING
    world.owner.role = Role.MEMBER
    world.owner.save()
    assert standing_for_reader(made, NOON) == Standing.TAKEN_BACK
    assert standing_for_reader(plain, NOON) == Standing.WAITING


def test_a_bed_must_be_the_garden_s_own(world: World) -> None:
    elsewhere = PlaceFactory(site=SiteFactory(garden=GardenFactory()))
    for place in (elsewhere, world.quarters):
        with pytest.raises(Refused) as refused:
            an_invitation(world.coordinator, place=place)
        assert refused.value.field == "place"
    assert an_invitation(world.coordinator, place=world.bed).place == world.bed


@pytest.mark.parametrize("address", ["", "anna", "anna@", "a b@c.example", "@x.example", "a" * 300])
def test_what_is_no_address(world: World, address: str) -> None:
    with pytest.raises(Refused) as refused:
        an_invitation(world.coordinator, address)
    assert refused.value.field == "email"
    assert not Letter.objects.exists()


def test_members_and_invited_people_need_no_invitation(world: World) -> None:
    with pytest.raises(Refused, match="belongs to the garden already"):
        an_invitation(world.coordinator, world.member.person.email.upper())
    an_invitation(world.coordinator)
    with pytest.raises(Refused, match="invited already, on 14 October"):
        an_invitation(world.owner)
    assert Letter.objects.count() == 1


def test_a_former_member_and_one_whose_time_ran_out_are_invited_anew(world: World) -> None:
    world.member.left_on = NOON.date()
    world.member.save()
    assert an_invitation(world.owner, world.member.person.email)
    first = an_invitation(world.owner)
    again = an_invitation(world.owner, now=NOON + LASTS)
    first.refresh_from_db()
    assert standing_of(first, NOON + LASTS) == Standing.EXPIRED
    assert standing_of(again, NOON + LASTS) == Standing.WAITING


def test_another_garden_s_invitation_is_no_obstacle(world: World) -> None:
    other = MembershipFactory(role=Role.OWNER)
    an_invitation(other)
    assert an_invitation(world.owner).email == ADDRESS


def test_whoever_waited_is_off_the_list(world: World) -> None:
    waiting = WaitingPerson.objects.create(
        garden=world.garden, name="Anna", email=ADDRESS, asked_on=NOON.date(), made_at=NOON
    )
    an_invitation(world.coordinator)
    waiting.refresh_from_db()
    assert waiting.invited_at == NOON


def test_sending_again_ends_the_older_link(world: World) -> None:
    made = an_invitation(world.coordinator)
    older, later = code_of(made), NOON + timedelta(days=20)
    renewed = send_again(world.coordinator, made, now=later)
    assert invitation_of(made.pk, older) is None
    found = invitation_of(made.pk, code_of(renewed))
    assert found is not None
    assert standing_of(found, later) == Standing.WAITING
    assert found.expires_at == later + LASTS
    assert Letter.objects.filter(invitation=made).count() == 2


def test_nobody_is_pestered(world: World) -> None:
    made = an_invitation(world.coordinator)
    for _ in range(LETTERS_A_DAY - 1):
        made = send_again(world.coordinator, made, now=NOON)
    with pytest.raises(Refused, match="several letters today"):
        send_again(world.coordinator, made, now=NOON)
    assert send_again(world.coordinator, made, now=NOON + timedelta(days=1))


def test_taking_back_and_inviting_anew_gives_no_letter_back(world: World) -> None:
    for _ in range(LETTERS_A_DAY):
        take_back(world.coordinator, an_invitation(world.coordinator), now=NOON)
    with pytest.raises(Refused, match="several letters today") as refused:
        an_invitation(world.owner)
    assert refused.value.field == "email"
    assert Letter.objects.count() == LETTERS_A_DAY
    assert Invitation.objects.filter(revoked_at__isnull=True).count() == 0
    assert an_invitation(world.owner, now=NOON + timedelta(days=1))


def test_a_garden_mails_so_many_in_a_day_to_all_addresses(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lifecycle.records.people.invitation_letters.LETTERS_OF_A_GARDEN", 2)
    made = an_invitation(world.coordinator)
    an_invitation(world.owner, "b@newcomer.example")
    for verb in (
        lambda: an_invitation(world.owner, "c@newcomer.example"),
        lambda: send_again(world.owner, made, now=NOON),
    ):
        with pytest.raises(Refused, match="mailed 2 invitations within a day"):
            verb()
    # What was refused has cost the address nothing.
    later = NOON + timedelta(days=1)
    for _ in range(2):
        made = send_again(world.owner, made, now=later)
    assert an_invitation(MembershipFactory(role=Role.OWNER), "c@newcomer.example")


def test_what_is_over_is_not_sent_again(world: World) -> None:
    made = an_invitation(world.coordinator)
    take_back(world.coordinator, made, now=NOON)
    take_back(world.coordinator, made, now=NOON)
    assert AuditNote.objects.filter(act="invitation_revoked").count() == 1
    with pytest.raises(Refused, match="taken back"):
        send_again(world.coordinator, made, now=NOON)
    Invitation.objects.update(revoked_at=None, used_at=NOON, used_by=world.member.person)
    for verb in (send_again, take_back):
        with pytest.raises(Refused, match="has been used"):
            verb(world.coordinator, made, now=NOON)


def test_only_the_right_code_opens(world: World) -> None:
    made = an_invitation(world.coordinator)
    other = an_invitation(world.coordinator, "b@newcomer.example")
    assert invitation_of(made.pk, code_of(other)) is None
    assert invitation_of(made.pk, "") is None
    assert invitation_of(10**30, code_of(made)) is None


def test_another_garden_s_invitation_is_out_of_reach(world: World) -> None:
    theirs = an_invitation(MembershipFactory(role=Role.OWNER))
    for verb in (send_again, take_back):
        with pytest.raises(Refused, match="of this garden"):
            verb(world.owner, theirs, now=NOON)


def test_whoever_sends_it_again_stands_behind_it(world: World) -> None:
    made = an_invitation(world.owner, role=Role.COMMITTEE)
    other = MembershipFactory(garden=world.garden, role=Role.OWNER)
    world.owner.role = Role.MEMBER
    world.owner.save()
    renewed = send_again(other, made, now=NOON)
    assert renewed.made_by == other.person
    assert standing_for_reader(renewed, NOON) == Standing.WAITING
