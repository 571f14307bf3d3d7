"""Today for who holds a plot, is asked for something, or begins a garden."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Garden, Membership, Place, Plant, Task, TaskOffer
from lifecycle.records.ground.inspections import look
from lifecycle.records.work.offers import offer
from tests.conftest import World
from tests.factories import (
    NOON,
    GardenFactory,
    MembershipFactory,
    PlaceFactory,
    SiteFactory,
    a_task,
)
from tests.records.handings import TODAY, a_holding, a_receiver, proposed

SignIn = Callable[..., Client]


def today_of(client: Client, world: World) -> str:
    answer = client.get(world.address)
    assert answer.status_code == 200
    return answer.content.decode()


def a_notice(world: World, place: Place, finding: str) -> None:
    look(
        world.coordinator,
        place,
        looked_on=TODAY,
        in_order=False,
        finding=finding,
        put_right_by=None,
        now=NOON,
    )


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def test_a_plot_without_plants_is_ones_own_bed(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    plot = PlaceFactory(site=world.site, name="Plot 12")
    client = as_person(ben)
    assert "<h2>Beds</h2>" in today_of(client, world)
    a_holding(plot, ben)
    text = today_of(client, world)
    assert "<h2>Your beds</h2>" in text
    assert "Plot 12" in text
    assert "Bed 3" not in text
    assert "Plot 12" not in today_of(as_person(world.member), world)


def test_the_holder_reads_what_is_to_be_put_right(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    a_holding(world.bed, ben)
    a_notice(world, world.bed, "The hose lies across the path")
    text = today_of(as_person(ben), world)
    assert "Bed 3: to put right by 28 October" in text
    assert "The hose lies across the path" in text
    assert "The hose" not in today_of(as_person(world.member), world)


def test_what_is_asked_of_the_reader_stands_on_today(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    client = as_person(ben)
    assert "You are asked" not in today_of(client, world)
    task = a_task(world.plant, "cut_back")
    offer(world.member, task, ben.person, now=NOON)
    proposed(world, ben)
    TaskOffer.objects.filter(task=task).update(state=TaskOffer.State.OPEN)
    text = today_of(client, world)
    assert "You are asked to take over 1 thing: answer" in text
    assert "1 task is offered to you: answer" in text
    assert "You are asked" not in today_of(as_person(world.member), world)


def test_places_of_one_name_are_told_apart(world: World, as_person: SignIn) -> None:
    mill = SiteFactory(garden=world.garden, name="Mill Lane")
    PlaceFactory(site=mill, name="Bed 3")
    a_task(world.plant, "cut_back")
    client = as_person(world.member)
    for address in (world.address, f"{world.address}tasks"):
        assert "Bed 3, Canal bank" in client.get(address).content.decode()


def test_a_new_garden_leads_its_owner_on(db: None, noon: None, as_person: SignIn) -> None:
    garden = GardenFactory(slug="new")
    owner = MembershipFactory(garden=garden, role="owner")
    member = MembershipFactory(garden=garden)
    SiteFactory(garden=garden, name="Yard")
    text = as_person(owner).get("/g/new/").content.decode()
    for words in ("Climate of Yard", "Write a safety notice", "Invite people"):
        assert words in text
    Garden.objects.filter(pk=garden.pk).update(safety="Mind the steps.")
    assert "Write a safety notice" not in as_person(owner).get("/g/new/").content.decode()
    assert "To begin with" not in as_person(member).get("/g/new/").content.decode()


def test_no_beginning_once_plants_stand(world: World, as_person: SignIn) -> None:
    assert Plant.objects.filter(garden=world.garden).exists()
    assert "To begin with" not in today_of(as_person(world.owner), world)


def test_queries_do_not_grow_with_plots_and_notices(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    client, seen = as_person(ben), []
    for number in (1, 6):
        for _ in range(number):
            plot = PlaceFactory(site=world.site)
            a_holding(plot, ben)
            a_notice(world, plot, "Weeds")
        with CaptureQueriesContext(connection) as queries:
            today_of(client, world)
        seen.append(len(queries))
    assert not Task.objects.exists()
    # As on the lists, the garden's names of places not read for tasks, and the notices.
    assert seen[0] == seen[1] <= 17
