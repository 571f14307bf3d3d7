"""Seed lots, their tests, and what a plan asks of a sowing's seed."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.handbook import days
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, GerminationTest, SeedLot, Sowing
from lifecycle.records.crops import seeds
from lifecycle.records.crops.seeds import (
    SeedFacts,
    add_lot,
    latest_tests,
    seed_facts,
    seed_facts_of,
    still_counts,
)
from lifecycle.records.crops.sowings import plan_sowing
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, VarietyFactory, a_sowing

TODAY = NOON.date()


def a_lot(world: World, name: str = "Attic", **more: object) -> SeedLot:
    given = {
        "variety": world.plant.variety,
        "name": name,
        "packed_year": 2023,
        "saved_from": None,
        "today": TODAY,
        **more,
    }
    return add_lot(world.member, **given)  # type: ignore[arg-type]


def planned(world: World, lot: SeedLot, on: date = TODAY) -> Sowing:
    return plan_sowing(
        world.member,
        site=world.site,
        variety=lot.variety,
        lot_name=lot.name,
        packed_year=None,
        holder=None,
        uuid=uuid4(),
        now=NOON - (TODAY - on),
    )


def a_test(world: World, lot: SeedLot, **more: object) -> tuple[GerminationTest, list[Sowing]]:
    given = {
        "sown": 20,
        "sprouted": 15,
        "tested_on": TODAY,
        "today": TODAY,
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    return seeds.test_lot(world.member, lot, **given)  # type: ignore[arg-type]


def test_a_lot_is_kept_with_its_year_and_its_parent(world: World) -> None:
    lot = a_lot(world, packed_year=2026, saved_from=world.plant)
    assert (lot.packed_year, lot.saved_from, lot.garden) == (2026, world.plant, world.garden)
    assert a_lot(world, "Year unknown", packed_year=None).packed_year is None
    with pytest.raises(Refused, match="already"):
        a_lot(world)


def test_a_lot_that_cannot_be_is_refused(world: World) -> None:
    stranger = MembershipFactory()
    for wrong, field in (
        ({"packed_year": 2027}, "packed_year"),
        ({"packed_year": 1989}, "packed_year"),
        ({"variety": VarietyFactory()}, "variety"),
        ({"name": ""}, "name"),
    ):
        with pytest.raises(Refused) as refused:
            a_lot(world, **wrong)  # type: ignore[arg-type]
        assert refused.value.field == field
    with pytest.raises(Refused, match="plant of this garden"):
        add_lot(
            stranger,
            variety=VarietyFactory(garden=stranger.garden),
            name="Taken",
            packed_year=None,
            saved_from=world.plant,
            today=TODAY,
        )
    with pytest.raises(PermissionDenied):
        add_lot(
            world.committee,
            variety=world.plant.variety,
            name="No",
            packed_year=None,
            saved_from=None,
            today=TODAY,
        )


def test_a_test_is_written_on_every_sowing_still_to_be_sown(world: World) -> None:
    lot = a_lot(world)
    first, second = planned(world, lot), planned(world, lot)
    sown = a_sowing(world.member, world.bench, variety=lot.variety, lot_name=lot.name)
    planned(world, a_lot(world, "Another"))
    test, written = a_test(world, lot)
    assert test.share == 0.75
    assert written == [first, second]
    entries = Entry.objects.filter(kind=Kind.SEED_TESTED).order_by("pk")
    assert [(each.sowing, each.quantity) for each in entries] == [(first, 75), (second, 75)]
    assert {each.note for each in entries} == {"15 of 20 sprouted"}
    assert sown.entries.count() == 1


def test_a_sowing_planned_after_the_test_gets_no_entry(world: World) -> None:
    lot = a_lot(world)
    before = planned(world, lot, TODAY - timedelta(5))
    same = planned(world, lot, TODAY - timedelta(3))
    planned(world, lot, TODAY - timedelta(2))
    _, written = a_test(world, lot, tested_on=TODAY - timedelta(3))
    assert written == [before, same]


def test_the_same_form_makes_one_test(world: World) -> None:
    lot, uuid = a_lot(world), uuid4()
    planned(world, lot)
    first, _ = a_test(world, lot, uuid=uuid)
    again, written = a_test(world, lot, uuid=uuid)
    assert (again, written) == (first, [])
    with pytest.raises(Refused, match="already used"):
        a_test(world, a_lot(world, "Another"), uuid=uuid)
    assert GerminationTest.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"sown": 0, "sprouted": 0}, "sown"),
        ({"sown": 1001}, "sown"),
        ({"sprouted": 21}, "sprouted"),
        ({"sprouted": -1}, "sprouted"),
        ({"tested_on": date(2022, 12, 31)}, "tested_on"),
        ({"tested_on": TODAY + timedelta(1)}, "tested_on"),
    ],
)
def test_a_test_that_cannot_be_is_refused(
    world: World, wrong: dict[str, object], field: str
) -> None:
    lot = a_lot(world)
    planned(world, lot)
    with pytest.raises(Refused) as refused:
        a_test(world, lot, **wrong)
    assert refused.value.field == field
    assert not GerminationTest.objects.exists()
    assert not Entry.objects.filter(kind=Kind.SEED_TESTED).exists()


def test_all_or_nothing_sprouted_are_tests(world: World) -> None:
    lot = a_lot(world)
    assert a_test(world, lot, sprouted=0)[0].share == 0
    assert a_test(world, lot, sprouted=20)[0].share == 1


def test_a_lot_of_another_garden_is_refused(world: World) -> None:
    with pytest.raises(Refused, match="this garden"):
        seeds.test_lot(
            MembershipFactory(),
            a_lot(world),
            sown=20,
            sprouted=10,
            tested_on=TODAY,
            today=TODAY,
            uuid=uuid4(),
            now=NOON,
        )


def test_the_latest_test_counts_for_a_year(world: World) -> None:
    lot = a_lot(world)
    limit = days("seed_test.counts_for")
    a_test(world, lot, sprouted=18, tested_on=TODAY - timedelta(10))
    a_test(world, lot, sprouted=5, tested_on=TODAY - timedelta(20))
    last = latest_tests([lot.pk])[lot.pk]
    assert last.sprouted == 18
    assert still_counts(last, last.tested_on + timedelta(limit))
    assert not still_counts(last, last.tested_on + timedelta(limit + 1))


def test_what_a_plan_asks_of_the_seed(world: World) -> None:
    lot = a_lot(world)
    sowing = planned(world, lot)
    assert seed_facts_of(sowing, TODAY) == SeedFacts(3, None)
    a_test(world, lot)
    assert seed_facts_of(sowing, TODAY) == SeedFacts(3, 0.75)
    later = date(2028, 10, 14)
    assert seed_facts_of(sowing, later) == SeedFacts(5, None)
    assert seed_facts_of(sowing, date(2022, 1, 1)).age_years == 0
    lotless = a_sowing(world.member, world.bench)
    assert seed_facts_of(lotless, TODAY) == SeedFacts(None, None)
    undated = planned(world, a_lot(world, "Undated", packed_year=None))
    assert seed_facts([sowing, lotless, undated], TODAY) == {
        sowing.pk: SeedFacts(3, 0.75),
        lotless.pk: SeedFacts(None, None),
        undated.pk: SeedFacts(None, None),
    }


def test_many_sowings_cost_two_queries(world: World) -> None:
    sowings = [planned(world, a_lot(world, f"Lot {n}")) for n in range(6)]
    with CaptureQueriesContext(connection) as queries:
        assert len(seed_facts(sowings, TODAY)) == 6
    assert len(queries) == 2
    with CaptureQueriesContext(connection) as queries:
        seed_facts([a for a in sowings if a.lot_id is None], TODAY)
    assert len(queries) == 0
