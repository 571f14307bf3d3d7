"""The people of a garden: who sees what of whom, who changes a role, who takes somebody out."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client

from lifecycle.models import AuditNote, BedHolding, Membership, Person, Role
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.web.people_pages import made_sure, queries_of

SignIn = Callable[..., Client]
SECRETS = ("+34 600 123 456", "member@garden.example", "Ben Berg", "+34 600 999 999", "3 March")


@pytest.fixture
def people(world: World) -> str:
    """Give the member contacts, and return the address of the list."""
    Person.objects.filter(pk=world.member.person_id).update(phone="+34 600 123 456")
    Membership.objects.filter(pk=world.member.pk).update(
        emergency_name="Ben Berg",
        emergency_phone="+34 600 999 999",
        waiver_signed_on=date(2026, 3, 3),
        skills=["ladder"],
    )
    return f"{world.address}people"


def page_of(world: World, who: Membership) -> str:
    return f"{world.address}people/{who.person_id}"


@pytest.mark.parametrize("role", ["owner", "coordinator", "member", "committee"])
def test_everybody_sees_names_roles_and_since_when(
    people: str, world: World, as_person: SignIn, role: str
) -> None:
    leads = role in ("owner", "coordinator")
    client = as_person(getattr(world, role))
    text = client.get(people).content.decode()
    for who in (world.owner, world.coordinator, world.member, world.committee):
        assert f">{who.person}</a>" in text
    assert "1 January 2024" in text
    assert ("member@garden.example" in text) is leads
    assert ("+34 600 123 456" in text) is leads
    assert "+34 600 999 999" not in text
    assert ("3 March" in text) is leads


@pytest.mark.parametrize("role", ["owner", "coordinator", "member", "committee"])
def test_a_person_s_page(people: str, world: World, as_person: SignIn, role: str) -> None:
    BedHolding.objects.create(
        garden=world.garden, place=world.bed, person=world.member.person, since=date(2025, 3, 1)
    )
    text = as_person(getattr(world, role)).get(page_of(world, world.member)).content.decode()
    assert "Bed 3" in text
    assert "1 March 2025" in text
    for secret in SECRETS:
        assert (secret in text) is (role != "committee"), secret
    assert ("Note the waiver" in text) is (role in ("owner", "coordinator"))
    assert ("Change the role" in text) is (role == "owner")
    assert ("Take Member out" in text) is (role in ("owner", "coordinator"))


def test_members_cannot_read_each_other_s_contacts(
    people: str, world: World, as_person: SignIn
) -> None:
    other = MembershipFactory(garden=world.garden)
    text = as_person(other).get(page_of(world, world.member)).content.decode()
    assert all(secret not in text for secret in SECRETS)


def test_contacts_leak_by_no_order(people: str, world: World, as_person: SignIn) -> None:
    client = as_person(world.member)
    plain = client.get(people).content.decode().count("aria-sort")
    for sort in ("email", "-email", "phone", "seen", "waiver", "person__email", "x" * 5000):
        text = client.get(people, {"sort": sort}).content.decode()
        assert text.count("aria-sort") == plain, sort
    assert "aria-sort" in as_person(world.owner).get(people, {"sort": "email"}).content.decode()


def test_former_members_and_people_of_other_gardens_have_no_page(
    people: str, world: World, as_person: SignIn
) -> None:
    client = made_sure(as_person(world.owner))
    Membership.objects.filter(pk=world.member.pk).update(left_on=NOON.date())
    elsewhere = MembershipFactory()
    assert ">Member</a>" not in client.get(people).content.decode()
    for who in (world.member, elsewhere):
        for ending in ("", "/role", "/out"):
            address = f"{page_of(world, who)}{ending}"
            assert client.get(address).status_code == 404, address
            assert client.post(address, {"role": "owner"}).status_code == 404, address
    assert as_person(world.outsider).get(people).status_code == 404
    assert as_person(world.member).get(people).status_code == 404


def test_looking_at_others_is_noted_once_a_day(
    people: str, world: World, as_person: SignIn
) -> None:
    for role in ("owner", "coordinator", "member"):
        client = as_person(getattr(world, role))
        for _ in range(2):
            client.get(people)
            client.get(page_of(world, world.member))
            client.get(page_of(world, world.committee))
    notes = AuditNote.objects.filter(act="roles_seen").values_list("by__name", "about__name")
    assert sorted((by, about or "everybody") for by, about in notes) == [
        ("Coordinator", "Committee"),
        ("Coordinator", "Member"),
        ("Coordinator", "everybody"),
        ("Owner", "Committee"),
        ("Owner", "Member"),
        ("Owner", "everybody"),
    ]


def test_a_role_is_changed_by_an_owner_who_is_asked_again(
    people: str, world: World, as_person: SignIn
) -> None:
    client = as_person(world.owner)
    address = f"{page_of(world, world.member)}/role"
    for answer in (client.get(address), client.post(address, {"role": "coordinator"})):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in/again?")
    made_sure(client)
    assert client.get(address).status_code == 200
    assert client.post(address, {"role": "coordinator"}).status_code == 302
    world.member.refresh_from_db()
    assert world.member.role == Role.COORDINATOR
    # It counts from the next request of a session that was open already.
    assert as_person(world.member).get(f"{people}/invite").status_code == 200


@pytest.mark.parametrize("role", ["coordinator", "member", "committee"])
@pytest.mark.parametrize("given", ["owner", "coordinator"])
def test_nobody_else_gives_a_role_not_even_themselves(
    people: str, world: World, as_person: SignIn, role: str, given: str
) -> None:
    actor = getattr(world, role)
    client = made_sure(as_person(actor))
    for target in (actor, world.member, world.owner):
        answer = client.post(f"{page_of(world, target)}/role", {"role": given})
        assert answer.status_code == 403
    for address in (page_of(world, actor), f"{world.address}me"):
        client.post(address, {"role": given, "act": "role", "signed_on": "2026-01-01"})
    actor.refresh_from_db()
    assert actor.role == role
    assert Membership.objects.filter(garden=world.garden, role=Role.OWNER).count() == 1


def test_the_last_owner_is_told_why_not(people: str, world: World, as_person: SignIn) -> None:
    client = made_sure(as_person(world.owner))
    answer = client.post(f"{page_of(world, world.owner)}/role", {"role": "member"})
    assert answer.status_code == 422
    assert "A garden needs an owner, and this is its last one" in answer.content.decode()
    assert client.post(f"{page_of(world, world.owner)}/role", {"role": "king"}).status_code == 422


def test_who_is_taken_out_is_out_at_once(people: str, world: World, as_person: SignIn) -> None:
    theirs, client = as_person(world.member), as_person(world.coordinator)
    address = f"{page_of(world, world.member)}/out"
    for answer in (client.get(address), client.post(address)):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in/again?")
    made_sure(client)
    assert theirs.get(people).status_code == 200
    assert "cannot come back by themselves" in client.get(address).content.decode()
    assert Membership.objects.get(pk=world.member.pk).left_on is None
    answer = client.post(address)
    assert answer["Location"] == f"{people}?said=out"
    assert theirs.get(people).status_code in (302, 404)
    assert AuditNote.objects.get(act="removed").about == world.member.person


def test_whom_a_coordinator_cannot_take_out(people: str, world: World, as_person: SignIn) -> None:
    other = MembershipFactory(garden=world.garden, role=Role.COORDINATOR)
    client = made_sure(as_person(world.coordinator))
    for who in (world.owner, other):
        assert client.post(f"{page_of(world, who)}/out").status_code == 403
        assert "Take out of the garden" not in client.get(page_of(world, who)).content.decode()
    assert client.post(f"{page_of(world, world.coordinator)}/out").status_code == 422
    for role in ("member", "committee"):
        answer = made_sure(as_person(getattr(world, role))).post(f"{page_of(world, other)}/out")
        assert answer.status_code == 403
    owner = made_sure(as_person(world.owner))
    assert owner.post(f"{page_of(world, other)}/out").status_code == 302


def test_the_waiver_is_noted(people: str, world: World, as_person: SignIn) -> None:
    client, address = as_person(world.coordinator), page_of(world, world.committee)
    assert client.post(address, {"signed_on": "2026-10-01"}).status_code == 302
    world.committee.refresh_from_db()
    assert world.committee.waiver_signed_on == date(2026, 10, 1)
    for bad in ("2026-10-15", "yesterday", "0000-00-00"):
        assert client.post(address, {"signed_on": bad}).status_code == 422, bad
    mine = as_person(world.member).post(page_of(world, world.member), {"signed_on": "2026-10-01"})
    assert mine.status_code == 403


@pytest.mark.parametrize("role", ["owner", "member"])
def test_queries_do_not_grow(world: World, people: str, as_person: SignIn, role: str) -> None:
    client, seen = as_person(getattr(world, role)), []
    client.get(people)
    for more in (3, 40):
        MembershipFactory.create_batch(more, garden=world.garden)
        seen.append(queries_of(client, people))
    # session, person, membership, site, count, rows, whether looking is noted already
    assert seen[0] == seen[1] <= 7
