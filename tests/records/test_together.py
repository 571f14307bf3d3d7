"""The same thing at the same moment from twenty phones."""

from datetime import date
from uuid import uuid4

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Sowing, Strike
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import Logged, log, strike
from lifecycle.records.crops.plants import split_pair
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.crops.sowings import pot_up
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, a_plant, a_sowing, an_entry
from tests.records.threads import all_at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
MANY = 20
TODAY = NOON.date()


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def test_one_form_sent_twenty_times_is_one_entry(world: World) -> None:
    draft = Draft(Kind.WATERED, TODAY)
    made = all_at_once(MANY, lambda _: log(world.member, world.plant, draft, now=NOON))
    assert all(isinstance(each, Logged) for each in made), made
    assert [each.created for each in made].count(True) == 1
    assert Entry.objects.filter(uuid=draft.uuid).count() == 1


def test_twenty_entries_are_twenty_entries(world: World) -> None:
    all_at_once(MANY, lambda _: log(world.member, world.plant, Draft(Kind.FED, TODAY), now=NOON))
    assert world.plant.entries.filter(kind="fed").count() == MANY
    version = world.plant.version
    world.plant.refresh_from_db()
    assert world.plant.version == version + MANY
    assert list(mismatches()) == []


def test_the_last_seedling_is_potted_once(world: World) -> None:
    sowing = a_sowing(world.member, world.bench, seeds=1)
    made = all_at_once(
        MANY,
        lambda _: pot_up(
            world.member,
            sowing,
            singles=1,
            pairs=0,
            place=world.bench,
            happened_on=TODAY,
            uuid=uuid4(),
            now=NOON,
        ),
    )
    assert sum(isinstance(each, Refused) for each in made) == MANY - 1, made
    assert Plant.objects.filter(sowing=sowing).count() == 1
    sowing.refresh_from_db()
    assert sowing.potted_up == 1
    assert list(mismatches()) == []


def test_a_pair_is_split_once(world: World) -> None:
    pair = a_plant(world.member, world.bed, count=2)
    made = all_at_once(
        MANY,
        lambda _: split_pair(world.member, pair, happened_on=TODAY, uuid=uuid4(), now=NOON),
    )
    assert sum(isinstance(each, Plant) for each in made) == 1
    assert Plant.objects.filter(parent=pair).count() == 1


@pytest.mark.parametrize("begin", ["plant", "sowing"])
def test_a_record_begun_by_one_form_sent_twenty_times_is_one(world: World, begin: str) -> None:
    uuid = uuid4()

    def once(_: int) -> Plant | Sowing:
        if begin == "plant":
            return a_plant(world.member, world.bed, uuid=uuid, happened_on=date(2026, 6, 1))
        return a_sowing(world.member, world.bench, uuid=uuid)

    made = all_at_once(MANY, once)
    assert len({(type(each), each.pk) for each in made if isinstance(each, Plant | Sowing)}) == 1
    assert not [each for each in made if isinstance(each, Exception)]
    assert Entry.objects.filter(uuid=uuid).count() == 1


def test_struck_by_twenty_is_struck_once(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.WATERED)
    made = all_at_once(MANY, lambda _: strike(world.coordinator, entry, "", now=NOON))
    assert {type(each) for each in made} == {Strike}
    assert Strike.objects.count() == 1


def test_an_end_and_a_harvest_never_both_win_out_of_order(world: World) -> None:
    def act(index: int) -> Logged:
        kind = Kind.ENDED if index % 2 else Kind.PICKED
        choice = "died" if index % 2 else ""
        return log(world.member, world.plant, Draft(kind, TODAY, choice=choice), now=NOON)

    made = all_at_once(MANY, act)
    assert all(isinstance(each, Logged | Refused) for each in made), made
    assert world.plant.entries.filter(kind="ended").count() == 1
    assert list(mismatches()) == []
