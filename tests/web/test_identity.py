"""Which plant is this: the page, its forms, and what a reader may do there."""

from collections.abc import Callable
from datetime import date
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Swap
from lifecycle.records.crops.proof import mismatches
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, VarietyFactory, a_plant, an_entry

SignIn = Callable[..., Client]
TODAY = NOON.date()


@pytest.fixture
def other(world: World) -> Plant:
    return a_plant(world.member, world.bed, name="The other")


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}plants/{world.plant.code}/identity"


def doubt(**more: object) -> dict[str, object]:
    return {"uuid": str(uuid4()), "why": "faded", "happened_on": "2026-10-10", **more}


def settle(**more: object) -> dict[str, object]:
    given = {"answer": "label", "how": "fruit", "happened_on": "2026-10-14"}
    return {"uuid": str(uuid4()), **given, **more}


def sent(client: Client, address: str, data: dict[str, object]) -> str:
    answer = client.post(address, data, follow=True)
    assert answer.status_code == 200, answer.content.decode()
    return answer.content.decode()


def refused(client: Client, address: str, data: dict[str, object]) -> str:
    answer = client.post(address, data)
    assert answer.status_code == 422
    return answer.content.decode()


def test_a_doubt_is_said_and_settled(world: World, client: Client, page: str, other: Plant) -> None:
    assert "Nobody doubts it now." in client.get(page).content.decode()
    text = sent(client, f"{page}/doubt", doubt(note="Washed out"))
    assert "Saved, and the plan follows." in text
    assert "Not sure which plant this is. Wait for flower or fruit" in text
    assert "Washed out" in text
    ancho = VarietyFactory(garden=world.garden, name="Ancho")
    text = sent(client, f"{page}/settle", settle(answer="variety", variety=ancho.pk))
    assert "Nobody doubts it now." in text
    assert "<dt>It counts as</dt><dd>Ancho</dd>" in text
    assert "<dt>Its label said</dt><dd>Cayenne</dd>" in text
    assert "by its fruit; Ancho; by Member" in text


@pytest.mark.parametrize("named", ["code", "name"])
def test_two_that_swapped_are_named_by_code_or_name(
    client: Client, page: str, other: Plant, named: str
) -> None:
    typed = other.code.lower() if named == "code" else "the OTHER"
    text = sent(client, f"{page}/doubt", doubt(why="swapped", other=f" {typed} "))
    assert f"with The other ({other.code})" in text
    assert set(Plant.objects.values_list("in_doubt", flat=True)) == {True}


@pytest.mark.parametrize("typed", ["nobody", "\x00", "x" * 10_000, "é"])
def test_a_plant_nobody_knows_gets_a_sentence(client: Client, page: str, typed: str) -> None:
    text = refused(client, f"{page}/doubt", doubt(why="swapped", other=typed))
    assert "The other plant: " in text
    assert not Entry.objects.filter(kind=Kind.IN_DOUBT).exists()


def test_a_name_that_several_have_asks_for_the_code(
    world: World, client: Client, page: str
) -> None:
    for _ in range(2):
        a_plant(world.member, world.bed, name="Twin")
    text = refused(client, f"{page}/doubt", doubt(why="swapped", other="Twin"))
    assert "several plants have that name" in text


def test_a_plant_of_another_garden_is_not_known(client: Client, page: str) -> None:
    stranger = MembershipFactory(role="owner")
    foreign = VarietyFactory(garden=stranger.garden)
    text = refused(client, f"{page}/settle", settle(answer="variety", variety=foreign.pk))
    assert "Which variety: choose one from the list." in text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"answer": "variety"}, "Which variety: choose the one it turned out to be."),
        ({"answer": "swapped", "since": "2026-07-01"}, "The other plant: give the code"),
        ({"answer": "not_swapped"}, "The other plant: give the code"),
        ({"answer": "swapped", "other": "The other"}, "Swapped since: give the first day"),
        ({"answer": "eaten"}, "What it is: choose one from the list."),
        ({"how": "smell"}, "How it was settled: choose one from the list."),
        ({"happened_on": "yesterday"}, "The date was not understood."),
        ({}, "Nobody doubts that this is Cayenne."),
    ],
)
def test_what_is_missing_gets_a_sentence(
    client: Client, page: str, other: Plant, typed: dict, sentence: str
) -> None:
    assert sentence in refused(client, f"{page}/settle", settle(**typed))
    assert not Entry.objects.filter(kind=Kind.SETTLED).exists()


def test_a_swap_is_settled_and_taken_back(
    world: World, client: Client, page: str, other: Plant
) -> None:
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 8, 1))
    sent(client, f"{page}/doubt", doubt(why="swapped", other=other.code))
    form = client.get(f"{page}/settle").content.decode()
    assert f'value="{other.code}"' in form
    typed = settle(answer="swapped", other=other.code, since="2026-07-01")
    text = sent(client, f"{page}/settle", typed)
    assert "Labels that were swapped" in text
    assert f"({other.code}) from 1 July, settled by Member" in text
    # Sent twice it is one.
    sent(client, f"{page}/settle", typed)
    assert Swap.objects.count() == 1
    other.refresh_from_db()
    assert other.phase == "growing"
    assert other.planned_on == TODAY
    entry = Entry.objects.get(kind=Kind.SETTLED, plant=world.plant)
    back = f"{page}/{entry.pk}/take-back"
    assert f'href="{back}"' in text
    assert "counts again for the plant" in client.get(back).content.decode()
    text = sent(client, back, {"reason": "Told apart"})
    assert "Labels that were swapped" not in text
    assert "Taken back by Member: Told apart" in text
    assert client.get(back).status_code == 404
    assert list(mismatches()) == []


def test_not_swapped_leaves_the_days_alone(client: Client, page: str, other: Plant) -> None:
    sent(client, f"{page}/doubt", doubt(why="swapped", other=other.code))
    typed = settle(answer="not_swapped", other=other.code, since="2026-07-01")
    sent(client, f"{page}/settle", typed)
    assert not Swap.objects.exists()
    assert not Plant.objects.filter(in_doubt=True).exists()


def test_an_impossible_swap_names_what_stands_in_the_way(
    world: World, client: Client, page: str
) -> None:
    young = a_plant(world.member, world.bed, name="Young", phase="seedling")
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 8, 1))
    typed = settle(answer="swapped", other=young.code, since="2026-07-01")
    text = refused(client, f"{page}/settle", typed)
    assert "would make these entries impossible: “Cut back” on 1 August 2026" in text


def test_who_may_take_back(world: World, as_person: SignIn, client: Client, page: str) -> None:
    other = a_plant(world.member, world.bed)
    sent(client, f"{page}/doubt", doubt(why="swapped", other=other.code))
    entry = Entry.objects.get(kind=Kind.IN_DOUBT, plant=world.plant)
    back = f"{page}/{entry.pk}/take-back"
    stranger = as_person(MembershipFactory(garden=world.garden))
    assert stranger.post(back, {"reason": "No"}).status_code == 403
    for reason in ("", "x" * 201):
        bad = as_person(world.coordinator).post(back, {"reason": reason})
        assert "Why it is taken back: " in bad.content.decode()
    assert "Taken back by Coordinator: No" in sent(
        as_person(world.coordinator), back, {"reason": "No"}
    )
    alone = an_entry(world.member, world.plant, Kind.WATERED)
    assert client.get(f"{page}/{alone.pk}/take-back").status_code == 404


def test_the_page_asks_the_same_of_the_database_whatever_it_holds(
    world: World, client: Client, page: str
) -> None:
    seen = []
    for more in (1, 5):
        for _ in range(more):
            other = a_plant(world.member, world.bed, variety=VarietyFactory(garden=world.garden))
            sent(client, f"{page}/doubt", doubt(why="swapped", other=other.code))
            typed = settle(answer="swapped", other=other.code, since="2026-07-01")
            sent(client, f"{page}/settle", typed)
        with CaptureQueriesContext(connection) as queries:
            client.get(page)
        seen.append(len(queries))
    # Session, person, membership; plant, its first variety, entries, swaps.
    assert seen[0] == seen[1] <= 7
