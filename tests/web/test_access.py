"""Who may open what: every page, every role, and somebody who belongs elsewhere."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import Entry, Membership, Role
from tests.conftest import World
from tests.factories import MembershipFactory
from tests.web.pages import entries_of, pages_of

SignIn = Callable[[object], Client]


@pytest.fixture
def reader(world: World, as_person: SignIn) -> Callable[[str], Client]:
    return lambda role: as_person(getattr(world, role))


@pytest.mark.parametrize("role", ["owner", "coordinator", "member", "committee"])
def test_every_member_reads_every_page(
    world: World, reader: Callable[[str], Client], role: str
) -> None:
    pages = pages_of(world)
    client = reader(role)
    message = f"{world.address}inbox/"
    for name, address in pages.read.items():
        if address.startswith(message) and role != "member":
            assert client.get(address).status_code == 404, name
            continue
        answer = client.get(address)
        assert answer.status_code == 200, name
        assert b"<h1>" in answer.content, name


@pytest.mark.parametrize(
    ("role", "barred"),
    [
        ("owner", set()),
        ("coordinator", set()),
        ("member", {"add place", "add site", "bed ground", "bed years", "cover", "system"}),
        ("committee", None),
    ],
)
def test_pages_that_write_ask_for_the_role(
    world: World, reader: Callable[[str], Client], role: str, barred: set[str] | None
) -> None:
    pages = pages_of(world)
    client = reader(role)
    barred = set(pages.write) if barred is None else barred
    for name, address in pages.write.items():
        for answer in (client.get(address), client.post(address, {})):
            wanted = {403} if name in barred else {200, 422}
            if name == "log choice" and answer.request["REQUEST_METHOD"] == "POST":
                wanted = {405}
            assert answer.status_code in wanted, (name, answer.status_code)
        if name in barred and name != "log choice":
            assert "Ask a coordinator" in answer.content.decode(), name


def test_committee_writes_nothing_anywhere(world: World, reader: Callable[[str], Client]) -> None:
    pages = pages_of(world)
    client = reader("committee")
    before = entries_of(world)
    for name in ("entry", "tasks", "task", "climate"):
        for act in ("strike", "undo", "done", "record", "nights"):
            answer = client.post(pages.read[name].split("?")[0], {"act": act})
            assert answer.status_code == 403, (name, act)
    several = client.post(f"{world.address}beds/{world.bed.pk}/log/fed", {})
    assert several.status_code == 403
    assert entries_of(world) == before


def test_outsider_finds_nothing(world: World, as_person: SignIn) -> None:
    pages = pages_of(world)
    client = as_person(world.outsider)
    for name, address in {**pages.read, **pages.write}.items():
        if name == "settings":
            continue
        assert client.get(address).status_code == 404, name
        assert client.post(address, {}).status_code in (404, 405), name


def test_member_who_left_is_an_outsider(world: World, as_person: SignIn) -> None:
    Membership.objects.filter(pk=world.member.pk).update(left_on="2026-10-01")
    client = as_person(world.member)
    assert client.get(world.address).status_code == 404
    assert "no garden yet" in client.get("/").content.decode()


def test_rows_of_another_garden_are_not_there(world: World, as_person: SignIn) -> None:
    """A member of two gardens cannot reach one garden's rows under the other's address."""
    pages = pages_of(world)
    other = MembershipFactory(person=world.member.person, role=Role.OWNER)
    client = as_person(world.member)
    for name, address in {**pages.read, **pages.write}.items():
        moved = address.replace("/northfield/", f"/{other.garden.slug}/")
        tail = moved.removeprefix(f"/g/{other.garden.slug}/")
        if any(mark.isdigit() for mark in tail.partition("?")[0]):
            assert client.get(moved).status_code == 404, name


def test_signed_out_everything_leads_to_sign_in(world: World) -> None:
    pages = pages_of(world)
    client = Client()
    for name, address in {**pages.read, **pages.write}.items():
        answer = client.get(address)
        assert answer.status_code == 302, name
        assert answer["Location"].startswith("/sign-in?next="), name


def test_label_tells_nothing_when_signed_out(world: World) -> None:
    client = Client()
    known = client.get(f"/p/{world.plant.code}")
    unknown = client.get("/p/222222")
    assert known.status_code == unknown.status_code == 302
    assert known.content == unknown.content == b""
    assert known["Location"].replace(world.plant.code, "222222") == unknown["Location"]
    assert dict(known.headers).keys() == dict(unknown.headers).keys()


def test_label_leads_members_to_the_plant(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)
    answer = client.get(f"/p/{world.plant.code.lower()}")
    assert answer["Location"] == f"/g/northfield/plants/{world.plant.code}"
    for wrong in ("222222", "x", "%00", "a" * 3000):
        assert client.get(f"/p/{wrong}").status_code == 404
    assert as_person(world.outsider).get(f"/p/{world.plant.code}").status_code == 404


def test_get_changes_nothing(world: World, as_person: SignIn) -> None:
    pages = pages_of(world)
    client = as_person(world.owner)
    before = set(Entry.objects.values_list("pk", flat=True))
    for address in (*pages.read.values(), *pages.write.values()):
        client.get(address)
    assert set(Entry.objects.values_list("pk", flat=True)) == before
