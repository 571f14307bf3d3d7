"""The page that invites: one person, a list with its report, every invitation and its state."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import BedHolding, Invitation, Letter, Role
from lifecycle.records.people.invitations import link_path
from tests.conftest import World
from tests.factories import NOON, GardenFactory, MembershipFactory, PlaceFactory, SiteFactory
from tests.records.invitations import ADDRESS, an_invitation
from tests.web.people_pages import made_sure, queries_of

SignIn = Callable[..., Client]


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}people/invite"


def one(**more: object) -> dict[str, object]:
    return {"one-email": ADDRESS, "one-name": "Anna", "one-role": "member", "one-place": "", **more}


def test_inviting_one_person_with_a_bed(world: World, address: str, as_person: SignIn) -> None:
    client = as_person(world.coordinator)
    assert client.get(address).status_code == 200
    answer = client.post(address, one(**{"one-place": world.bed.pk}))
    assert answer["Location"] == f"{address}?invited=1"
    made = Invitation.objects.get()
    assert (made.email, made.role, made.place, made.made_by) == (
        ADDRESS,
        Role.MEMBER,
        world.bed,
        world.coordinator.person,
    )
    text = client.get(answer["Location"]).content.decode()
    assert "1 invitation is on the way" in text
    assert ADDRESS in text
    assert "waiting, sent 14 October, good until 28 October" in text
    assert Client().post(link_path(made), {"name": "Anna"}).status_code == 302
    assert BedHolding.objects.get().place == world.bed
    assert "used on 14 October by Anna" in client.get(address).content.decode()


@pytest.mark.parametrize("role", ["member", "committee"])
def test_who_does_not_lead_invites_nobody(
    world: World, address: str, as_person: SignIn, role: str
) -> None:
    client = as_person(getattr(world, role))
    made = an_invitation(world.owner)
    for path in (address, f"{world.address}people/invitations/{made.pk}"):
        assert client.get(path).status_code == 403
        assert client.post(path, one(act="take_back")).status_code == 403
    assert Invitation.objects.get().revoked_at is None


@pytest.mark.parametrize("role", ["owner", "coordinator", "committee"])
def test_a_coordinator_cannot_invite_to_a_role(
    world: World, address: str, as_person: SignIn, role: str
) -> None:
    client = as_person(world.coordinator)
    assert 'name="one-role"' not in client.get(address).content.decode()
    # What the form does not offer it does not take: the newcomer is a member.
    client.post(address, one(**{"one-role": role}))
    assert Invitation.objects.get().role == Role.MEMBER
    owner = made_sure(as_person(world.owner))
    owner.post(address, one(**{"one-email": "b@new.example", "one-role": role}))
    assert Invitation.objects.get(email="b@new.example").role == role


@pytest.mark.parametrize("role", ["owner", "coordinator", "committee"])
def test_a_role_is_given_only_by_who_was_asked_again(
    world: World, address: str, as_person: SignIn, role: str
) -> None:
    client = as_person(world.owner)
    text = client.get(address).content.decode()
    assert 'name="one-role"' not in text
    assert f'href="/sign-in/again?next={address}"' in text
    answer = client.post(address, one(**{"one-role": role}))
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "It is some time since you showed who you are" in text
    for kept in (f'value="{ADDRESS}"', 'value="Anna"', f'value="{role}" selected'):
        assert kept in text
    assert not Invitation.objects.exists()
    # Members are invited without it, one or many.
    assert client.post(address, one()).status_code == 302
    listed = {"act": "list", "list-people": "b@new.example", "list-role": role, "one-role": role}
    assert client.post(address, listed).status_code == 302
    assert set(Invitation.objects.values_list("role", flat=True)) == {Role.MEMBER}
    made_sure(client)
    assert 'name="one-role"' in client.get(address).content.decode()
    given = one(**{"one-role": role, "one-email": "c@new.example"})
    assert client.post(address, given).status_code == 302
    assert Invitation.objects.get(email="c@new.example").role == role


@pytest.mark.parametrize("role", ["owner", "coordinator", "committee"])
def test_an_invitation_to_a_role_is_sent_again_only_by_who_was_asked_again(
    world: World, as_person: SignIn, role: str
) -> None:
    made = an_invitation(world.owner, role=role)
    path = link_path(made)
    address = f"{world.address}people/invitations/{made.pk}"
    client = as_person(world.owner)
    answer = client.post(address, {"act": "again"})
    assert answer["Location"].startswith("/sign-in/again?next=")
    assert Client().get(path).status_code == 200
    assert Letter.objects.count() == 1
    made_sure(client)
    assert client.post(address, {"act": "again"})["Location"] == f"{address}?said=again"
    assert Letter.objects.count() == 2


def test_one_whose_address_went_says_so(world: World, address: str, as_person: SignIn) -> None:
    made = an_invitation(world.owner)
    Invitation.objects.update(email="", name="", revoked_at=NOON)
    client = as_person(world.owner)
    assert "An address no longer kept" in client.get(address).content.decode()
    text = client.get(f"{world.address}people/invitations/{made.pk}").content.decode()
    assert "Invitation to an address no longer kept" in text


def test_what_is_refused(world: World, address: str, as_person: SignIn) -> None:
    client = as_person(world.owner)
    foreign = PlaceFactory(site=SiteFactory(garden=GardenFactory()))
    for given in (
        one(**{"one-email": "anna"}),
        one(**{"one-email": "a\x00@b.example"}),
        one(**{"one-email": world.member.person.email}),
        one(**{"one-name": "x" * 61}),
        one(**{"one-role": "king"}),
        one(**{"one-place": foreign.pk}),
        one(**{"one-place": world.quarters.pk}),
        one(**{"one-place": "9" * 40}),
        {},
    ):
        answer = client.post(address, given)
        assert answer.status_code == 422, given
        assert "<title>Error: Invite" in answer.content.decode()
    assert not Invitation.objects.exists()


def test_a_list_and_its_report(world: World, address: str, as_person: SignIn) -> None:
    client = as_person(world.coordinator)
    lines = [
        "name;address",
        "Anna;anna@new.example",
        "Ben;ben at new.example",
        "Anna again;ANNA@new.example",
        f"Member;{world.member.person.email}",
        "<script>;x",
    ]
    answer = client.post(address, {"act": "list", "list-people": "\n".join(lines)})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "1 person is invited. 4 lines led to no invitation." in text
    assert "stands in line 2" in text
    assert "belongs to the garden already" in text
    assert "&lt;script&gt;" in text
    assert "<script>" not in text
    box = text[text.index("<textarea") : text.index("</textarea>")]
    assert "ben at new.example" in box
    assert "ANNA@new.example" not in box
    assert "anna@new.example" not in box
    assert Letter.objects.count() == 1
    mended = client.post(address, {"act": "list", "list-people": "Ben; ben@new.example"})
    assert mended["Location"] == f"{address}?invited=1"


def test_a_list_with_nothing_to_mend_is_no_error(
    world: World, address: str, as_person: SignIn
) -> None:
    client = as_person(world.coordinator)
    text = "a@new.example\na@new.example"
    answer = client.post(address, {"act": "list", "list-people": text})
    assert answer.status_code == 200
    assert "Leave it out." in answer.content.decode()


@pytest.mark.parametrize("text", ["", "x" * 60_001, "a\x00b", "\n".join(["a@b.example"] * 201)])
def test_a_list_that_is_refused_as_a_whole(
    world: World, address: str, as_person: SignIn, text: str
) -> None:
    answer = as_person(world.owner).post(address, {"act": "list", "list-people": text})
    assert answer.status_code == 422
    assert not Invitation.objects.exists()


def test_nothing_can_be_smuggled_into_a_list(world: World, address: str, as_person: SignIn) -> None:
    given = {"act": "list", "list-people": "a@new.example", "list-role": "owner", "role": "owner"}
    as_person(world.owner).post(address, {**given, "one-role": "owner", "one-place": world.bed.pk})
    made = Invitation.objects.get()
    assert (made.role, made.place) == (Role.MEMBER, None)


def test_one_invitation_sent_again_and_taken_back(world: World, as_person: SignIn) -> None:
    made = an_invitation(world.owner)
    older = link_path(made)
    client = as_person(world.coordinator)
    address = f"{world.address}people/invitations/{made.pk}"
    text = client.get(address).content.decode()
    assert ADDRESS in text
    assert "waiting" in text
    assert older not in text
    assert client.post(address, {"act": "again"})["Location"] == f"{address}?said=again"
    assert Client().get(older).status_code == 404
    made.refresh_from_db()
    assert Client().get(link_path(made)).status_code == 200
    assert "works no more" in client.get(f"{address}?said=again").content.decode()
    assert client.post(address, {"act": "take_back"}).status_code == 302
    assert Client().get(link_path(made)).status_code == 404
    assert client.post(address, {"act": "again"}).status_code == 422
    assert client.post(address, {"act": "shout"}).status_code == 422
    assert "Taken back on 14 October" in client.get(address).content.decode()


def test_an_owner_s_invitation_to_a_role_is_the_owner_s(world: World, as_person: SignIn) -> None:
    made = an_invitation(world.owner, role=Role.OWNER)
    client = as_person(world.coordinator)
    address = f"{world.address}people/invitations/{made.pk}"
    assert "Only an owner" in client.get(address).content.decode()
    for act in ("again", "take_back"):
        assert client.post(address, {"act": act}).status_code == 403
    made.refresh_from_db()
    assert made.revoked_at is None


def test_another_garden_s_invitation_is_not_found(world: World, as_person: SignIn) -> None:
    theirs = an_invitation(MembershipFactory(role=Role.OWNER))
    client = as_person(world.owner)
    address = f"{world.address}people/invitations/{theirs.pk}"
    assert client.get(address).status_code == 404
    assert client.post(address, {"act": "take_back"}).status_code == 404


def test_queries_do_not_grow(world: World, address: str, as_person: SignIn) -> None:
    client, seen = as_person(world.owner), []
    client.get(address)
    for first, last in ((0, 3), (3, 40)):
        for number in range(first, last):
            an_invitation(world.owner, f"a{number}@new.example", place=world.bed)
        seen.append(queries_of(client, address))
    # session, person, membership, site, count, rows, places
    assert seen[0] == seen[1] <= 7


def test_the_list_pages(world: World, address: str, as_person: SignIn) -> None:
    for number in range(52):
        an_invitation(world.owner, f"a{number}@new.example", now=NOON)
    client = as_person(world.owner)
    assert "Page 1 of 2" in client.get(address).content.decode()
    assert "a0@new.example" in client.get(f"{address}?page=2").content.decode()
    for page in ("0", "x", "9" * 50):
        assert client.get(address, {"page": page}).status_code == 200
