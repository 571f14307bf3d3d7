"""Tasks: whose they are, what each asks for, and how it is closed."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Task
from tests.conftest import World
from tests.factories import a_plant, a_sowing, a_task

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def test_task_page_says_what_where_when_why(client: Client, world: World) -> None:
    task = a_task(world.plant, "cut_back", moved_from="2026-10-05", moved_on="2026-10-08")
    text = client.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert "<h1>Cut back: Cayenne by the gate</h1>" in text
    assert "1 October to 20 October, best 10 October: due now, by 20 October" in text
    assert "Nights fall below 10 °C about 20 October." in text
    assert "The plan moved it from 5 October to 10 October on 8 October." in text
    assert "A source" in text
    assert "Dip blades between plants" in text
    assert "Member, who holds it" in text


def test_done_takes_what_the_entry_needs(client: Client, world: World) -> None:
    task = a_task(world.plant, "winter_quarters")
    page = f"{world.address}tasks/{task.pk}"
    data = {"act": "done", "uuid": str(uuid4())}
    missing = client.post(page, data)
    assert missing.status_code == 422
    assert "How it spends the winter: give an answer." in missing.content.decode()
    open_air = client.post(page, {**data, "choice": "resting", "place": world.bed.pk})
    assert "Place: choose one from the list." in open_air.content.decode()
    answer = client.post(page, {**data, "choice": "resting", "place": world.quarters.pk})
    assert answer.status_code == 302
    task.refresh_from_db()
    assert (task.state, task.entry.kind) == (Task.State.DONE, Kind.WINTER_QUARTERS)
    closed = client.get(page).content.decode()
    assert "Done by Member at 12:00." in closed
    assert "See the entry" in closed


def test_cannot_do_wants_a_reason(client: Client, world: World) -> None:
    task = a_task(world.plant, "cut_back")
    page = f"{world.address}tasks/{task.pk}"
    for why in ("", "\x00", "x" * 10_000):
        assert client.post(page, {"act": "cannot", "cannot-why": why}).status_code == 422
    assert client.post(page, {"act": "cannot", "cannot-why": "no shears"}).status_code == 302
    late = client.post(page, {"act": "cannot", "cannot-why": "again"})
    assert "no longer open" in late.content.decode()
    lately = client.get(f"{world.address}tasks").content.decode()
    assert "Could not be done today, by Member" in lately


def test_take_give_and_give_back(client: Client, world: World, as_person: SignIn) -> None:
    orphan = a_plant(world.owner, world.bed, name="Orphan", holder=None)
    task = a_task(orphan, "cut_back")
    page = f"{world.address}tasks/{task.pk}"
    client.post(page, {"act": "take"})
    task.refresh_from_db()
    assert task.assignee == world.member.person
    assert "Give it back" in client.get(page).content.decode()
    give = {"act": "give", "give-to": world.owner.person_id}
    assert client.post(page, give).status_code == 403
    lead = as_person(world.coordinator)
    assert lead.post(page, {**give, "give-to": world.outsider.pk}).status_code == 422
    assert lead.post(page, give).status_code == 302
    task.refresh_from_db()
    assert task.assignee == world.owner.person
    assert as_person(world.owner).post(page, {"act": "give_back"}).status_code == 302
    task.refresh_from_db()
    assert task.assignee is None


def test_lists_sort_tasks_by_whose_they_are(client: Client, world: World) -> None:
    a_task(world.plant, "cut_back")
    a_task(world.plant, "lift", earliest="2026-10-30", best="2026-10-30", latest="2026-11-05")
    a_task(a_plant(world.owner, world.bed, holder=None), "pest_check")
    a_task(a_plant(world.owner, world.bed), "first_feed")
    text = client.get(f"{world.address}tasks").content.decode()
    order = ["Cut back:", "Yours later", "Lift:", "Waiting for someone", "Check for pests"]
    order += ["With other members", "Give the first feed:"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_pot_up_has_a_page_of_its_own(client: Client, world: World) -> None:
    sowing = a_sowing(world.member, world.bench)
    task = a_task(sowing, "pot_up")
    text = client.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert f"sowings/{sowing.code}/pot-up" in text
    before = Entry.objects.count()
    client.post(f"{world.address}tasks/{task.pk}", {"act": "done", "uuid": str(uuid4())})
    assert Entry.objects.count() == before


@pytest.mark.parametrize("act", ["", "x", "\x00", "done", "cannot"])
def test_garbage_acts_are_harmless(client: Client, world: World, act: str) -> None:
    task = a_task(world.plant, "cut_back")
    answer = client.post(f"{world.address}tasks/{task.pk}", {"act": act, "uuid": "x"})
    assert answer.status_code in (200, 422)
    task.refresh_from_db()
    assert task.state == Task.State.OPEN
