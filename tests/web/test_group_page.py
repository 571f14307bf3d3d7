"""One group of tasks: done for all of it or for some, and what others did meanwhile."""

from collections.abc import Callable
from datetime import time
from uuid import uuid4

import pytest
from django.test import Client

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Task
from tests.conftest import World
from tests.factories import a_plant, a_task, an_entry
from tests.records.works import TODAY, a_chore, a_chore_task
from tests.reminders.climates import DAY

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def tasks(world: World) -> list[Task]:
    plants = [a_plant(world.member, world.bed, name=f"Plant {n}") for n in range(3)]
    return [a_task(plant, "cut_back") for plant in plants]


def form(world: World, **more: object) -> dict[str, object]:
    return {
        "some": "1",
        "kind": "cut_back",
        "place": world.bed.pk,
        "uuid": str(uuid4()),
        "back": "tasks",
        **more,
    }


def test_all_that_is_due_is_ticked(world: World, client: Client, tasks: list[Task]) -> None:
    Task.objects.filter(pk=tasks[2].pk).update(earliest=TODAY + DAY, best=TODAY + DAY)
    text = client.get(
        f"{world.address}tasks?kind=cut_back&place={world.bed.pk}&whose=1"
    ).content.decode()
    assert "<h1>Cut back: 3 plants in Bed 3</h1>" in text
    assert text.count('name="task"') == 3
    assert text.count(" checked>") == 2
    assert "Dip blades between plants" in text
    assert "Done for those ticked" in text


def test_done_for_some(world: World, client: Client, tasks: list[Task]) -> None:
    data = form(world, task=[tasks[0].pk, tasks[2].pk])
    text = client.post(f"{world.address}tasks", data, follow=True).content.decode()
    assert "Cut back saved for 2 plants." in text
    done = set(Task.objects.filter(state="done").values_list("pk", flat=True))
    assert done == {tasks[0].pk, tasks[2].pk}
    again = client.post(f"{world.address}tasks", data, follow=True).content.decode()
    assert "Nothing was left to do there." in again
    assert Entry.objects.filter(kind=Kind.CUT_BACK).count() == 2


def test_what_others_did_meanwhile_is_told(world: World, client: Client, tasks: list[Task]) -> None:
    plant = Plant.objects.get(pk=tasks[0].plant_id)
    an_entry(world.owner, plant, Kind.CUT_BACK)
    data = form(world, task=[task.pk for task in tasks])
    text = client.post(f"{world.address}tasks", data, follow=True).content.decode()
    assert "Cut back saved for 2 plants." in text
    assert "Done by Owner at 12:00." in text


def test_one_tap_for_all_tells_who_was_first(
    world: World, client: Client, tasks: list[Task], as_person: SignIn
) -> None:
    data = form(world, some="", whose="1")
    client.post(f"{world.address}tasks", data)
    other = as_person(world.owner)
    late = form(world, some="")
    text = other.post(f"{world.address}tasks", late, follow=True).content.decode()
    assert "Nothing was left to do there." in text
    assert "Done by Member at 12:00." in text


def test_none_ticked_and_foreign_tasks(world: World, client: Client, tasks: list[Task]) -> None:
    none = client.post(f"{world.address}tasks", form(world))
    assert none.status_code == 422
    assert "Tick at least one." in none.content.decode()
    for wrong in (["x"], ["9" * 40], ["0"], [a_task(world.plant, "lift").pk]):
        answer = client.post(f"{world.address}tasks", form(world, task=wrong))
        assert answer.status_code == 422, wrong
    assert not Task.objects.filter(state="done").exists()


def test_a_chore_of_several_days(world: World, client: Client) -> None:
    chore = a_chore(world, repeat="days", skill="lifting")
    days = [a_chore_task(chore, TODAY + n * DAY) for n in range(3)]
    text = client.get(f"{world.address}tasks").content.decode()
    assert "Turn the compost, 3 times" in text
    page = client.get(f"{world.address}tasks?kind=chore&chore={chore.pk}&whose=0").content.decode()
    assert "<h1>Turn the compost: 3 times</h1>" in page
    assert "bend the knees" in page
    data = form(world, kind="chore", chore=chore.pk, place="", task=[days[0].pk])
    done = client.post(f"{world.address}tasks", data, follow=True).content.decode()
    assert "Done: Turn the compost." in done
    assert Task.objects.filter(state="done").count() == 1


def test_one_tap_says_which_it_does_and_what_it_leaves(
    world: World, client: Client, tasks: list[Task]
) -> None:
    later = {"earliest": TODAY + DAY, "best": TODAY + DAY, "latest": TODAY + 2 * DAY}
    Task.objects.filter(pk__in=[tasks[1].pk, tasks[2].pk]).update(**later)
    page = client.get(f"{world.address}tasks").content.decode()
    assert "1 of 3 due: " in page
    assert "Done for the 1 due" in page
    answer = client.post(f"{world.address}tasks", form(world, some="", whose="1"), follow=True)
    text = answer.content.decode()
    assert "Cut back saved: Plant 0." in text
    assert "Not due yet, and left open: Cut back: Plant 1, Cut back: Plant 2." in text


def test_a_chore_with_a_time_says_it_everywhere(world: World, client: Client) -> None:
    chore = a_chore(world, repeat="days", at_time=time(10, 0))
    for n in range(2):
        a_chore_task(chore, TODAY + n * DAY)
    page = client.get(f"{world.address}tasks").content.decode()
    assert "next of 2: at 10:00, last day today" in page
    group = client.get(f"{world.address}tasks?kind=chore&chore={chore.pk}&whose=0")
    assert "at 10:00, best 15 October, by 15 October" in group.content.decode()


@pytest.mark.parametrize("query", ["did", "undid", "before", "left"])
def test_status_names_only_what_is_so(world: World, client: Client, query: str) -> None:
    task = a_chore_task(a_chore(world))
    for value in (task.pk, "x", "9" * 30, "0", "\x00"):
        text = client.get(f"{world.address}tasks", {query: value}).content.decode()
        assert "Done: Turn" not in text
        assert "Done by" not in text


def test_groups_of_another_chore_or_garbage(world: World, client: Client) -> None:
    for query in ("kind=chore", "kind=chore&chore=x", "kind=chore&chore=99", "kind=x"):
        assert client.get(f"{world.address}tasks?{query}").status_code == 200
