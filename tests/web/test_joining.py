"""Opening an invitation: what it shows, what it asks, whom it lets in and whom it does not."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from lifecycle.models import Invitation, Letter, Membership, Person, Role
from lifecycle.records.people.invitation_standing import LASTS
from lifecycle.records.people.invitations import link_path, send_again, take_back
from tests.conftest import World
from tests.factories import NOON, PASSWORD, MembershipFactory, PersonFactory
from tests.records.invitations import ADDRESS, an_invitation

SignIn = Callable[..., Client]
NEW = {"name": "Anna Berg", "password": "", "own_device": "on"}


@pytest.fixture
def invitation(world: World) -> Invitation:
    return an_invitation(world.coordinator)


def text_of(answer: object) -> str:
    content = answer.content.decode()  # type: ignore[attr-defined]
    return re.sub(r'value="[^"]*"|nonce="[^"]*"', "", content)


def test_opening_changes_nothing_and_says_what_joining_means(
    world: World, invitation: Invitation
) -> None:
    path = link_path(invitation)
    for _ in range(2):
        answer = Client().get(path)
        assert answer.status_code == 200
        assert Client().head(path).status_code == 200
    text = answer.content.decode()
    for words in ("Northfield", ADDRESS, "Coordinator invites you as a member", "28 October"):
        assert words in text
    assert "What you wrote down about plants and beds stays" in text
    assert "former member" in text
    assert answer["X-Robots-Tag"] == "noindex, nofollow"
    assert "no-store" in answer["Cache-Control"]
    assert not Person.objects.filter(email=ADDRESS).exists()
    invitation.refresh_from_db()
    assert invitation.used_at is None


@pytest.mark.parametrize("role", list(Role))
def test_who_sees_what_of_them_depends_on_their_role(world: World, role: Role) -> None:
    text = Client().get(link_path(an_invitation(world.owner, role=role))).content.decode()
    leads = role in (Role.OWNER, Role.COORDINATOR)
    assert ("since you will lead, your e-mail address" in text) is leads
    assert ("only who leads sees your address and telephone" in text) is not leads


def test_at_most_four_fields(world: World, invitation: Invitation) -> None:
    world.garden.safety = "Shut the water main off.\n\n<b>Gloves</b>"
    world.garden.save()
    text = Client().get(link_path(invitation)).content.decode()
    fields = re.findall(r"<input [^>]*>", text)
    assert len([each for each in fields if 'type="hidden"' not in each]) == 4
    assert "Shut the water main off." in text
    assert "<b>Gloves" not in text


def test_joining_signs_in_and_leads_to_the_welcome(world: World, invitation: Invitation) -> None:
    client = Client()
    answer = client.post(link_path(invitation), {**NEW, "password": PASSWORD})
    assert answer.status_code == 302
    assert answer["Location"] == f"{world.address}welcome"
    person = Person.objects.get(email=ADDRESS)
    assert person.check_password(PASSWORD)
    assert client.get(answer["Location"]).status_code == 200
    left = client.session.get_expiry_date() - NOON
    assert left > timedelta(days=80)


def test_not_on_one_s_own_phone_the_session_is_short(invitation: Invitation) -> None:
    client = Client()
    client.post(link_path(invitation), {"name": "Anna"})
    assert client.session.get_expiry_date() - NOON <= timedelta(hours=12)


def test_what_is_refused_stands_beside_its_field(world: World, invitation: Invitation) -> None:
    world.garden.safety = "Hats."
    world.garden.save()
    path = link_path(invitation)
    for given in (
        {**NEW, "safety_read": "on", "name": ""},
        {**NEW, "safety_read": "on", "password": "12345"},
        NEW,
        {**NEW, "safety_read": "on", "name": "a\x00b" * 40},
    ):
        answer = Client().post(path, given)
        assert answer.status_code == 422, given
        assert answer.content.decode().count("<title>Error: ") == 1
    assert Client().post(path, {**NEW, "safety_read": "on"}).status_code == 302


@pytest.mark.parametrize(
    "smuggled",
    [
        {"role": "owner"},
        {"email": "other@newcomer.example"},
        {"is_active": "", "garden": "1", "place": "1", "person": "1"},
    ],
)
def test_nothing_else_can_be_sent_along(
    world: World, invitation: Invitation, smuggled: dict[str, str]
) -> None:
    assert Client().post(link_path(invitation), {**NEW, **smuggled}).status_code == 302
    member = Membership.objects.get(person__email=ADDRESS)
    assert (member.role, member.garden) == (Role.MEMBER, world.garden)
    assert member.person.is_active
    assert not Person.objects.filter(email="other@newcomer.example").exists()


def test_every_link_that_cannot_be_used_gets_the_same_status(
    world: World, invitation: Invitation
) -> None:
    right = link_path(invitation)
    unknown = [f"/i/{invitation.pk}/{'x' * 24}", f"/i/{invitation.pk + 99}/x", f"/i/{10**30}/x"]
    answers = [Client().get(path) for path in unknown]
    assert {answer.status_code for answer in answers} == {404}
    assert len({text_of(answer) for answer in answers}) == 1
    assert "Northfield" not in answers[0].content.decode()
    assert "ask whoever invited you" in answers[0].content.decode().lower()

    with time_machine.travel(NOON + LASTS, tick=False):
        expired = Client().get(right)
    renewed = send_again(world.coordinator, invitation, now=NOON)
    superseded = Client().get(right)
    take_back(world.coordinator, renewed, now=NOON)
    revoked = Client().get(link_path(renewed))
    Invitation.objects.update(revoked_at=None, used_at=NOON, used_by=world.member.person)
    used = Client().get(link_path(renewed))
    for answer, words in (
        (expired, "14 days, and they are over"),
        (superseded, "a newer one was made"),
        (revoked, "taken back"),
        (used, "has been used"),
    ):
        assert answer.status_code == 404
        assert words in answer.content.decode()
    for path in (right, link_path(renewed), *unknown):
        assert Client().post(path, NEW).status_code == 404
    assert not Person.objects.filter(email=ADDRESS).exists()


def test_an_account_is_asked_to_sign_in_first(world: World, invitation: Invitation) -> None:
    known = PersonFactory(email=ADDRESS)
    path = link_path(invitation)
    answer = Client().get(path)
    assert f'href="/sign-in?next={path}"' in answer.content.decode()
    assert 'name="password"' not in answer.content.decode()
    client = Client()
    client.post(path, {**NEW, "password": "another-long-password"})
    assert not client.session.get("_auth_user_id")
    known.refresh_from_db()
    assert known.check_password(PASSWORD)
    # Signing in leads back, and one button joins.
    signed = client.post("/sign-in", {"username": ADDRESS, "password": PASSWORD, "next": path})
    assert signed["Location"] == path
    page = client.get(path).content.decode()
    assert f"Join as {known}" in page
    joined = client.post(path, {"person": known.pk})
    assert joined["Location"] == f"{world.address}welcome"
    assert Membership.objects.get(garden=world.garden, person=known).role == Role.MEMBER


def test_another_who_is_signed_in_joins_only_knowingly(
    world: World, invitation: Invitation, as_person: SignIn
) -> None:
    client, path = as_person(world.outsider), link_path(invitation)
    page = client.get(path).content.decode()
    assert f"You are signed in as {world.outsider}" in page
    assert f"went to {ADDRESS}" in page
    for given in ({}, {"person": "x"}, {"person": world.member.person_id}, NEW):
        assert client.post(path, given).status_code == 422, given
    assert not Membership.objects.filter(garden=world.garden, person=world.outsider).exists()
    assert client.post(path, {"person": world.outsider.pk}).status_code == 302
    assert Membership.objects.filter(garden=world.garden, person=world.outsider).exists()
    assert not Person.objects.filter(email=ADDRESS).exists()


def test_another_signs_out_and_joins_as_who_was_invited(
    world: World, invitation: Invitation, as_person: SignIn
) -> None:
    client, path = as_person(world.outsider), link_path(invitation)
    assert client.post(path, {"act": "other"})["Location"] == path
    assert client.post(path, NEW).status_code == 302
    assert Membership.objects.filter(person__email=ADDRESS).exists()


def test_a_member_is_told_so_and_the_invitation_waits(
    world: World, invitation: Invitation, as_person: SignIn
) -> None:
    client = as_person(world.member)
    answer = client.get(link_path(invitation))
    assert "belong to Northfield already" in answer.content.decode()
    assert client.post(link_path(invitation), {"person": world.member.person_id}).status_code == 422
    invitation.refresh_from_db()
    assert invitation.used_at is None


def test_a_former_member_joins_again(world: World, as_person: SignIn) -> None:
    Membership.objects.filter(pk=world.member.pk).update(left_on=NOON.date())
    made = an_invitation(world.coordinator, world.member.person.email)
    client = as_person(world.member)
    assert client.get(f"{world.address}people").status_code == 404
    assert client.post(link_path(made), {"person": world.member.person_id}).status_code == 302
    assert client.get(f"{world.address}people").status_code == 200
    assert Membership.objects.filter(person=world.member.person).count() == 2


def test_a_forged_post_from_elsewhere_joins_nobody(invitation: Invitation) -> None:
    client = Client(enforce_csrf_checks=True)
    assert client.post(link_path(invitation), NEW).status_code == 403
    assert not Person.objects.filter(email=ADDRESS).exists()


def test_the_invitation_to_several_gardens(world: World, invitation: Invitation) -> None:
    other = an_invitation(MembershipFactory(role=Role.OWNER))
    client = Client()
    client.post(link_path(invitation), NEW)
    person = Person.objects.get(email=ADDRESS)
    answer = client.post(link_path(other), {"person": person.pk})
    assert answer.status_code == 302
    assert Membership.objects.filter(person=person).count() == 2
    assert Letter.objects.count() == 2
