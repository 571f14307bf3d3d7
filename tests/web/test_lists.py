"""Plants, beds and Today as lists: search, sort, pages, and a constant number of queries."""

import re
from collections.abc import Callable
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Task
from tests.conftest import World
from tests.factories import (
    PlaceFactory,
    VarietyFactory,
    a_plant,
    a_sowing,
    a_task,
    an_entry,
)

SignIn = Callable[..., Client]
GARBAGE = [
    "",
    "0",
    "-1",
    "1.5",
    "x",
    "9" * 5000,
    "\x00",
    "١",
    "²",
    "a,b;--",
    "-",
    "%",
    "é" * 10_000,
]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def fill(world: World, number: int) -> None:
    """Give the garden more plants, half of them with a task, and more beds."""
    for index in range(number):
        place = PlaceFactory(site=world.site) if index % 5 == 0 else world.bed
        plant = a_plant(world.member, place, variety=VarietyFactory(garden=world.garden))
        an_entry(world.member, plant, Kind.FED)
        if index % 2:
            a_task(plant, "cut_back")


# Queries of each page, beside session, person and membership:
QUERIES = {
    # site, tasks grouped with their places and the garden's names of places (3), next task,
    # beds held, places with their last entry, their names, unread messages, frost nights, last
    # night's low, hand-overs and tasks offered
    "": 17,
    # places with counts and last entry, holders, site
    "beds": 6,
    # place, plants, sowings, tasks grouped; climate and choices (6); turns, waterings,
    # readings, who stood there, notes, picks; holders; places of the tasks (2)
    "bed": 23,
    # filter choices (places, people), count, rows, site
    "plants": 8,
    # site, tasks grouped with their places and the garden's names of places (3), offers to the
    # reader, done lately
    "tasks": 9,
    # place of the address is not read; site, count, rows, names of places
    "tasks?kind=cut_back&place={bed}&whose=1": 7,
    # site, count, rows
    "inbox": 6,
}


@pytest.mark.parametrize("page", QUERIES)
def test_number_of_queries_does_not_grow(world: World, client: Client, page: str) -> None:
    address = f"beds/{world.bed.pk}" if page == "bed" else page.format(bed=world.bed.pk)
    seen = []
    for more in (5, 55):
        fill(world, more)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert client.get(world.address + address).status_code == 200
        seen.append(len(queries))
    assert seen[0] == seen[1]
    assert seen[0] <= QUERIES[page], [query["sql"][:90] for query in queries]


def test_plant_page_queries_do_not_grow_with_its_record(world: World, client: Client) -> None:
    """Beside the record: climate (5), tasks, swaps (2), standing entries, children, seed lots,
    whether the holder is still here, a hand-over that waits.
    """
    address = f"{world.address}plants/{world.plant.code}"
    seen = []
    for more in (2, 40):
        for _ in range(more):
            an_entry(world.member, world.plant, Kind.WATERED, quantity=1.0)
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        seen.append(len(queries))
    assert seen[0] == seen[1] <= 18


@pytest.mark.parametrize("name", ["page", "per_page", "sort"])
def test_table_survives_any_parameter(world: World, client: Client, name: str) -> None:
    fill(world, 3)
    known = ["name", "-name", "code", "variety", "phase", "-place", "holder", "last", "last,-name"]
    for value in [*GARBAGE, *(known if name == "sort" else [])]:
        answer = client.get(f"{world.address}plants", {name: value})
        assert answer.status_code == 200, value[:20]
        assert "Cayenne by the gate" in answer.content.decode(), value[:20]


@pytest.mark.parametrize("name", ["q", "state", "phase", "place", "holder", "species"])
def test_filters_survive_garbage_and_say_so(world: World, client: Client, name: str) -> None:
    for value in GARBAGE:
        answer = client.get(f"{world.address}plants", {name: value})
        assert answer.status_code == 200, value[:20]
    said = client.get(f"{world.address}plants", {name: "x" * 10_000}).content.decode()
    assert "It was left out of the search." in said


def test_search_and_filters(world: World, client: Client) -> None:
    other = a_plant(world.owner, world.quarters, name="Shed plant", phase="resting")
    gone = a_plant(world.owner, world.bed, name="Gone plant")
    an_entry(world.owner, gone, Kind.ENDED, choice="died")

    def names(**query: object) -> set[str]:
        text = client.get(f"{world.address}plants", query).content.decode()
        return {each.name for each in Plant.objects.all() if f">{each.name}</a>" in text}

    both = {"Cayenne by the gate", "Shed plant"}
    assert names() == both
    assert names(q="shed") == {"Shed plant"}
    assert names(q=other.code[:4].lower()) == {"Shed plant"}
    assert names(q="cayenne") == both
    assert names(q="nothing like it") == set()
    assert names(phase="resting") == {"Shed plant"}
    assert names(place=world.bed.pk) == {"Cayenne by the gate"}
    assert names(holder=world.owner.person_id) == {"Shed plant"}
    assert names(holder=0) == set()
    assert names(species="annuum") == both
    assert names(species="chinense") == set()
    assert names(state="ended") == {"Gone plant"}
    assert names(state="all") == {*both, "Gone plant"}


def test_pages_do_not_overlap_and_keep_the_search(world: World, client: Client) -> None:
    variety = VarietyFactory(garden=world.garden)
    for _ in range(7):
        a_plant(world.member, world.bed, variety=variety, name="Same name")
    seen: list[str] = []
    for page in range(1, 4):
        query = {"page": page, "per_page": 3, "sort": "-name", "q": "same"}
        text = client.get(f"{world.address}plants", query).content.decode()
        seen += re.findall(r"plants/([0-9A-Z]{6})\"", text)
        assert "q=same" in text
        assert f"Page {page} of 3" in text
    assert len(seen) == len(set(seen)) == 7


def test_sorted_column_says_so(world: World, client: Client) -> None:
    text = client.get(f"{world.address}plants?sort=-name").content.decode()
    assert text.count('aria-sort="descending"') == 1
    assert '<th scope="col"' in text
    assert "<caption>Plants" in text
    assert 'href="?sort=name"' in text


def test_today_groups_and_does_a_group_with_one_tap(world: World, client: Client) -> None:
    plants = [a_plant(world.member, world.bed) for _ in range(8)]
    tasks = [a_task(plant, "cut_back") for plant in (*plants, world.plant)]
    text = client.get(world.address).content.decode()
    assert "<h1>Wednesday 14 October: 9 things due</h1>" in text
    assert "Cut back: 9 plants" in text
    data = {
        "kind": "cut_back",
        "place": world.bed.pk,
        "whose": "1",
        "uuid": str(uuid4()),
        "back": "today",
    }
    done = client.post(f"{world.address}tasks", data, follow=True)
    assert "Cut back saved for 9 plants." in done.content.decode()
    assert Entry.objects.filter(kind=Kind.CUT_BACK).count() == 9
    assert {Task.objects.get(pk=task.pk).state for task in tasks} == {Task.State.DONE}
    again = client.post(f"{world.address}tasks", data, follow=True).content.decode()
    assert "Nothing was left to do there" in again
    assert Entry.objects.filter(kind=Kind.CUT_BACK).count() == 9
    first = Entry.objects.filter(kind=Kind.CUT_BACK).earliest("pk")
    undone = client.post(
        f"{world.address}entries/{first.pk}", {"act": "undo", "back": "today"}, follow=True
    ).content.decode()
    assert "Cut back undone for 9 plants." in undone


@pytest.mark.parametrize("field", ["kind", "place", "whose", "uuid", "back"])
def test_group_form_survives_garbage(world: World, client: Client, field: str) -> None:
    a_task(world.plant, "cut_back")
    good = {"kind": "cut_back", "place": world.bed.pk, "whose": "1", "uuid": str(uuid4())}
    for value in GARBAGE:
        answer = client.post(f"{world.address}tasks", {**good, field: value})
        assert answer.status_code in (302, 422), value[:20]


def test_today_shows_what_waits_and_what_comes(
    world: World, client: Client, as_person: SignIn
) -> None:
    orphan = a_plant(world.owner, world.bed, name="Orphan", holder=None)
    a_task(orphan, "pest_check")
    a_task(world.plant, "lift", earliest="2026-10-20", best="2026-10-22", latest="2026-10-30")
    text = client.get(world.address).content.decode()
    assert "nothing is due for you" in text
    assert "Next: " in text
    assert "from 20 October" in text
    assert "Waiting for someone" in text
    assert "nobody. " not in text
    lead = as_person(world.coordinator).get(world.address).content.decode()
    assert "1 task has nobody" in lead


def test_today_of_an_empty_garden(world: World, as_person: SignIn) -> None:
    client = as_person(world.outsider)
    text = client.get("/", follow=True).content.decode()
    assert "nothing is due for you" in text
    assert "No bed yet" in text


def test_bed_logs_for_several_at_once(world: World, client: Client) -> None:
    others = [a_plant(world.owner, world.bed) for _ in range(3)]
    address = f"{world.address}beds/{world.bed.pk}"
    text = client.get(f"{address}?several=1").content.decode()
    assert text.count("checked") == 4
    data = {"uuid": str(uuid4()), "plant": [world.plant.code, others[0].code, "NOBODY", "\x00"]}
    for _ in range(2):
        saved = client.post(f"{address}/log/watered", data, follow=True).content.decode()
        assert "Watered saved for 2 plants." in saved
    assert Entry.objects.filter(kind=Kind.WATERED).count() == 2
    first = Entry.objects.filter(kind=Kind.WATERED).earliest("pk")
    undone = client.post(
        f"{world.address}entries/{first.pk}",
        {"act": "undo", "back": f"bed-{world.bed.pk}"},
        follow=True,
    )
    assert "Watered undone for 2 plants." in undone.content.decode()
    assert undone.request["PATH_INFO"] == address


def test_bed_asks_for_more_only_where_the_act_needs_it(world: World, client: Client) -> None:
    address = f"{world.address}beds/{world.bed.pk}/log/pest_check"
    data = {"uuid": str(uuid4()), "plant": [world.plant.code]}
    asked = client.post(address, data)
    assert asked.status_code == 200
    assert "Save for 1 plant" in asked.content.decode()
    assert data["uuid"] in asked.content.decode()
    missing = client.post(address, {**data, "complete": "1"})
    assert missing.status_code == 422
    client.post(address, {**data, "complete": "1", "choice": "clean"})
    assert Entry.objects.get(kind=Kind.PEST_CHECK).choice == "clean"


def test_several_are_logged_all_or_none(world: World, client: Client) -> None:
    young = a_plant(world.owner, world.bed, phase="seedling", name="Young")
    address = f"{world.address}beds/{world.bed.pk}/log/cut_back"
    data = {"uuid": str(uuid4()), "plant": [world.plant.code, young.code]}
    answer = client.post(address, data)
    assert answer.status_code == 422
    assert "Young: “Cut back” cannot follow" in answer.content.decode()
    assert not Entry.objects.filter(kind=Kind.CUT_BACK).exists()


def test_several_without_a_plant_or_with_an_unknown_kind(world: World, client: Client) -> None:
    address = f"{world.address}beds/{world.bed.pk}/log"
    none = client.post(f"{address}/watered", {"uuid": str(uuid4())})
    assert "Tick at least one plant." in none.content.decode()
    odd = client.post(f"{address}/raised", {"uuid": str(uuid4()), "plant": [world.plant.code]})
    assert odd.status_code == 422


def test_bed_page_counts_and_lists_sowings(world: World, client: Client) -> None:
    a_sowing(world.member, world.bench)
    text = client.get(f"{world.address}beds/{world.bench.pk}").content.decode()
    assert "No plants, 1 sowing. Nothing due." in text
    assert "Sowings" in text
    beds = client.get(f"{world.address}beds").content.decode()
    assert "Where you hold plants" in beds
    assert "Bed: 1 plant. Last: Cayenne by the gate, taken over" in beds


@pytest.mark.parametrize("pk", ["99999999999999999999999", "0"])
def test_addresses_out_of_range_are_not_there(world: World, client: Client, pk: str) -> None:
    for page in ("beds", "tasks", "entries", "inbox"):
        assert client.get(f"{world.address}{page}/{pk}").status_code == 404
    assert client.get(f"{world.address}sites/{pk}/climate").status_code == 404
