"""What people are told who may not, and where a label leads; who may is in the crawl."""

from collections.abc import Callable

from django.test import Client

from lifecycle.models import Membership
from tests.conftest import World
from tests.web.pages import pages_of

SignIn = Callable[[object], Client]


def test_a_weak_role_is_told_whom_to_ask(world: World, as_person: SignIn) -> None:
    client = as_person(world.committee)
    for name, address in pages_of(world).write.items():
        answer = client.get(address)
        assert answer.status_code == 403, name
        assert "Ask a coordinator" in answer.content.decode(), name


def test_every_page_has_one_heading(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)
    for name, address in pages_of(world).read.items():
        answer = client.get(address)
        assert answer.status_code == 200, name
        assert answer.content.count(b"<h1") == 1, name


def test_committee_is_refused_by_every_button(world: World, as_person: SignIn) -> None:
    pages = pages_of(world)
    client = as_person(world.committee)
    for name in ("entry", "tasks", "task", "climate"):
        for act in ("strike", "undo", "done", "record", "nights"):
            answer = client.post(pages.read[name].split("?")[0], {"act": act})
            assert answer.status_code == 403, (name, act)
    several = client.post(f"{world.address}beds/{world.bed.pk}/log/fed", {})
    assert several.status_code == 403


def test_member_who_left_is_told_of_no_garden(world: World, as_person: SignIn) -> None:
    Membership.objects.filter(pk=world.member.pk).update(left_on="2026-10-01")
    client = as_person(world.member)
    assert client.get(world.address).status_code == 404
    assert "no garden yet" in client.get("/").content.decode()


def test_label_leads_members_to_the_plant(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)
    answer = client.get(f"/p/{world.plant.code.lower()}")
    assert answer["Location"] == f"/g/northfield/plants/{world.plant.code}"
    for wrong in ("222222", "x", "%00", "a" * 3000):
        assert client.get(f"/p/{wrong}").status_code == 404
