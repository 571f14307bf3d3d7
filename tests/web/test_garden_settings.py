"""The garden's settings and who changed what: an owner's, asked again who they are."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import AuditNote, Garden, Joining, Role
from lifecycle.records.people.audit import ACTS, note
from lifecycle.records.people.join_link import join_path
from lifecycle.records.people.memberships import change_role
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.web.people_pages import made_sure, queries_of

SignIn = Callable[..., Client]
GIVEN = {"name": "Northfield", "joining": "invited", "safety": "", "waiver": ""}


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}settings"


@pytest.fixture
def audit(world: World) -> str:
    return f"{world.address}audit"


@pytest.fixture
def owner(world: World, as_person: SignIn) -> Client:
    return made_sure(as_person(world.owner))


def garden_of(world: World) -> Garden:
    return Garden.objects.get(pk=world.garden.pk)


def test_an_owner_is_asked_again(world: World, address: str, audit: str, as_person: SignIn) -> None:
    client = as_person(world.owner)
    for path in (address, audit):
        assert client.get(path)["Location"].startswith("/sign-in/again?next=")
    assert client.post(address, GIVEN | {"name": "Taken"}).status_code == 302
    assert garden_of(world).name == "Northfield"
    assert not AuditNote.objects.exists()


@pytest.mark.parametrize("role", ["coordinator", "member", "committee"])
def test_nobody_else_sees_or_sets(
    world: World, address: str, audit: str, as_person: SignIn, role: str
) -> None:
    client = made_sure(as_person(getattr(world, role)))
    for path in (address, audit):
        assert client.get(path).status_code == 403
    for given in (GIVEN, {"act": "new_link"}, {"act": "end_link"}):
        assert client.post(address, given).status_code == 403
    assert not AuditNote.objects.exists()


def test_outsiders_find_neither(world: World, address: str, audit: str, as_person: SignIn) -> None:
    client = made_sure(as_person(world.outsider))
    assert [client.get(path).status_code for path in (address, audit)] == [404, 404]
    assert client.post(address, GIVEN).status_code == 404


def test_saving(world: World, address: str, owner: Client) -> None:
    given = {**GIVEN, "name": "Southfield", "safety": "Hats.", "hours_ledger": "on"}
    assert owner.post(address, given)["Location"] == f"{address}?said=saved"
    garden = garden_of(world)
    assert (garden.name, garden.safety, garden.hours_ledger) == ("Southfield", "Hats.", True)
    assert AuditNote.objects.get(act="settings_changed").detail == {
        "changed": ["name", "safety", "hours_ledger"]
    }
    assert "The settings are saved." in owner.get(f"{address}?said=saved").content.decode()


@pytest.mark.parametrize(
    "bad",
    [{"name": ""}, {"name": "x" * 61}, {"joining": "x"}, {"safety": "x" * 6001}, {"name": "\x00"}],
)
def test_what_is_refused(world: World, address: str, owner: Client, bad: dict[str, str]) -> None:
    assert owner.post(address, {**GIVEN, **bad}).status_code == 422
    assert not AuditNote.objects.exists()


def test_nothing_else_of_the_garden_can_be_set(world: World, address: str, owner: Client) -> None:
    nonce = "00000000-0000-4000-8000-000000000000"
    owner.post(address, {**GIVEN, "slug": "mine", "invented": "on", "join_nonce": nonce, "id": "9"})
    garden = garden_of(world)
    assert (garden.slug, garden.invented, garden.join_nonce) == ("northfield", False, None)


def test_the_link_on_the_page(world: World, address: str, owner: Client) -> None:
    assert "/join/" not in owner.get(address).content.decode()
    assert owner.post(address, {"act": "new_link"}).status_code == 422
    owner.post(address, {**GIVEN, "joining": "open"})
    path = join_path(garden_of(world))
    assert path in owner.get(address).content.decode()
    assert Client().get(path).status_code == 200
    assert owner.post(address, {"act": "new_link"}).status_code == 302
    assert Client().get(path).status_code == 404
    path = join_path(garden_of(world))
    owner.post(address, {"act": "end_link"})
    assert Client().get(path).status_code == 404
    assert garden_of(world).joining == Joining.INVITED
    acts = AuditNote.objects.order_by("pk").values_list("act", flat=True)
    assert list(acts) == ["settings_changed", "join_link_made", "join_link_ended"]


def test_the_audit_shows_who_did_what_when(world: World, audit: str, owner: Client) -> None:
    change_role(world.owner, world.member, Role.COORDINATOR, now=NOON)
    note(world.owner, "settings_changed", now=NOON, changed=["joining", "waiver"])
    note(world.owner, "year_closed", now=NOON, year=2025)
    note(MembershipFactory(), "exported", now=NOON)
    text = owner.get(audit).content.decode()
    for words in (
        "14 October, 12:00",
        "from member to coordinator",
        "how people join, waiver",
        "2025",
        "Looked at this list",
    ):
        assert words in text, words
    assert text.count('scope="row"') == 4
    one = owner.get(audit, {"act": "role_changed"}).content.decode()
    assert one.count('scope="row"') == 1
    for garbage in ("x", "\x00", "9" * 5000):
        assert owner.get(audit, {"act": garbage, "page": garbage}).status_code == 200


def test_looking_is_noted_once_a_day_and_nothing_can_be_posted(
    world: World, audit: str, owner: Client
) -> None:
    for _ in range(3):
        owner.get(audit)
    assert AuditNote.objects.filter(act="audit_seen").count() == 1
    assert owner.post(audit, {}).status_code == 405


def test_every_act_can_be_shown(world: World, audit: str, owner: Client) -> None:
    for act in ACTS:
        note(world.owner, act, now=NOON)
        assert owner.get(audit, {"act": act}).status_code == 200


def test_queries_do_not_grow(world: World, audit: str, owner: Client) -> None:
    owner.get(audit)
    seen = []
    for more in (3, 45):
        for _ in range(more):
            someone = MembershipFactory(garden=world.garden)
            note(someone, "joined", now=NOON, about=someone.person)
        seen.append(queries_of(owner, audit))
    # session, person, membership, noted already, count, rows, site
    assert seen[0] == seen[1] <= 7
