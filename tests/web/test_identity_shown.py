"""Where a doubt and a settled swap show: plant, list, bed, record, entry."""

from collections.abc import Callable
from datetime import date
from uuid import uuid4

import pytest
from django.test import Client

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant
from lifecycle.records.crops.identity import doubt, settle_pair, settle_variety
from lifecycle.records.crops.proof import mismatches
from tests.conftest import World
from tests.factories import NOON, VarietyFactory, a_plant, an_entry

SignIn = Callable[..., Client]
WORDS = "ot sure which plant this is"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def other(world: World) -> Plant:
    return a_plant(world.member, world.bed, name="The other", phase="growing")


def doubted(world: World, plant: Plant, other: Plant | None = None) -> Entry:
    given = {"happened_on": date(2026, 9, 1), "note": "", "uuid": uuid4(), "now": NOON}
    why = "swapped" if other else "faded"
    return doubt(world.member, plant, why=why, other=other, **given)


def swapped(world: World, plant: Plant, other: Plant) -> None:
    settle_pair(
        world.member,
        plant,
        other,
        how="fruit",
        since=date(2026, 7, 1),
        until=None,
        happened_on=NOON.date(),
        note="",
        uuid=uuid4(),
        now=NOON,
    )


def page_of(world: World, plant: Plant) -> str:
    return f"{world.address}plants/{plant.code}"


def test_a_doubt_shows_wherever_the_plant_does(world: World, client: Client) -> None:
    pages = [page_of(world, world.plant), f"{world.address}plants"]
    pages += [
        f"{world.address}beds/{world.bed.pk}",
        f"{world.address}beds/{world.bed.pk}?several=1",
    ]
    for page in pages:
        assert WORDS not in client.get(page).content.decode().partition("<h2>Rarer")[0], page
    entry = doubted(world, world.plant)
    for page in pages:
        assert WORDS in client.get(page).content.decode(), page
    assert "Which plant is this" in client.get(pages[0]).content.decode()
    text = client.get(f"{world.address}entries/{entry.pk}").content.decode()
    assert "Label faded" in text


def test_an_ended_plant_is_doubted_no_more(world: World, client: Client) -> None:
    doubted(world, world.plant)
    an_entry(world.member, world.plant, Kind.ENDED, choice="died")
    text = client.get(page_of(world, world.plant)).content.decode()
    assert WORDS not in text.partition('<h2 id="record"')[0]
    assert WORDS not in client.get(f"{world.address}plants?state=ended").content.decode()


def test_the_labels_first_word_stands_beside_the_variety(world: World, client: Client) -> None:
    ancho = VarietyFactory(garden=world.garden, name="Ancho")
    given = {"happened_on": NOON.date(), "note": "", "uuid": uuid4(), "now": NOON}
    settle_variety(world.member, world.plant, how="fruit", variety=ancho, **given)
    text = client.get(page_of(world, world.plant)).content.decode()
    assert "its label said Cayenne" in text
    assert "By its fruit; Ancho" in text


def test_the_record_says_under_which_label_it_was_logged(
    world: World, client: Client, other: Plant
) -> None:
    entry = an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 8, 1))
    swapped(world, world.plant, other)
    theirs = client.get(page_of(world, other)).content.decode()
    assert f"logged under {world.plant.code}" in theirs
    ours = client.get(page_of(world, world.plant)).content.decode()
    assert "logged under" not in ours
    assert f"entries/{entry.pk}" not in ours
    text = client.get(f"{world.address}entries/{entry.pk}").content.decode()
    assert f"The other</a>, logged under {world.plant.code} while the labels were swapped" in text


def test_an_entry_that_moved_is_corrected_and_struck_from_its_page(
    world: World, client: Client, other: Plant
) -> None:
    entry = an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2026, 8, 1))
    swapped(world, world.plant, other)
    data = {"act": "correct", "uuid": str(uuid4()), "happened_on": "2026-08-03", "quantity": "90"}
    answer = client.post(f"{world.address}entries/{entry.pk}", data)
    new = Entry.objects.latest("pk")
    assert answer["Location"] == f"{page_of(world, other)}?saved={new.pk}"
    assert 'role="status"' in client.get(answer["Location"]).content.decode()
    other.refresh_from_db()
    assert other.planned_on == NOON.date()
    # Dated before the swap it is its label's again.
    data |= {"uuid": str(uuid4()), "happened_on": "2026-06-03"}
    answer = client.post(f"{world.address}entries/{new.pk}", data)
    last = Entry.objects.latest("pk")
    assert answer["Location"] == f"{page_of(world, world.plant)}?saved={last.pk}"
    struck = client.post(f"{world.address}entries/{last.pk}", {"act": "strike"}, follow=True)
    assert struck.status_code == 200
    assert list(mismatches()) == []


def test_what_was_written_on_two_plants_leads_to_its_own_page(
    world: World, client: Client, other: Plant
) -> None:
    entry = doubted(world, world.plant, other)
    text = client.get(f"{world.address}entries/{entry.pk}").content.decode()
    assert "Written on two plants." in text
    assert f"with The other ({other.code})" in text
    assert 'id="correct"' not in text


def test_new_pages_are_linked(world: World, client: Client) -> None:
    more = client.get(f"{world.address}more").content.decode()
    assert f'href="{world.address}varieties"' in more
    climate = client.get(f"{world.address}sites/{world.site.pk}/climate").content.decode()
    for page in ("settings", "events"):
        assert f'href="{world.address}sites/{world.site.pk}/{page}"' in climate
