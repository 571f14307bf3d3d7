"""What a bed is made of, what stood in it before, and who the record says stood there."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.care.bed_rotation import Stay, stays
from lifecycle.life.kinds import Kind
from lifecycle.models import BedYear, Place
from lifecycle.records.crops.entries import strike
from lifecycle.records.ground.ground import (
    forget_year,
    note_year,
    picked_since,
    placed_in,
    set_ground,
    turns_of,
    watered_since,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, a_plant, a_sowing, an_entry

GOOD = {
    "length_m": 3.0,
    "width_m": 1.2,
    "depth_cm": 15.0,
    "soil": "loam",
    "mulched": True,
    "wire": True,
}


def test_a_bed_keeps_what_it_is_made_of(world: World) -> None:
    assert world.bed.area_m2 is None
    set_ground(world.coordinator, world.bed, **GOOD)
    kept = Place.objects.get(pk=world.bed.pk)
    assert {name: getattr(kept, name) for name in GOOD} == GOOD
    assert kept.area_m2 == pytest.approx(3.6)
    set_ground(world.coordinator, world.bed, **{**GOOD, "width_m": None})
    assert Place.objects.get(pk=world.bed.pk).area_m2 is None


@pytest.mark.parametrize(
    ("wrong", "field", "sentence"),
    [
        ({"length_m": 0.0}, "length_m", "Length of the bed: 0 m cannot be. Give 0.1 to 200 m."),
        ({"length_m": 200.1}, "length_m", "Give 0.1 to 200 m."),
        ({"width_m": float("nan")}, "width_m", "Width of the bed: nan m cannot be."),
        ({"width_m": float("inf")}, "width_m", "Width of the bed: inf m cannot be."),
        ({"depth_cm": -5.0}, "depth_cm", "Depth of the bed: -5 cm cannot be. Give 5 to 200 cm."),
        ({"soil": "cheese"}, "soil", "Soil: choose one from the list."),
        ({"depth_cm": None}, "depth_cm", "say how deep the soil above the wire is"),
    ],
)
def test_a_bed_that_cannot_be_is_refused(
    world: World, wrong: dict[str, object], field: str, sentence: str
) -> None:
    with pytest.raises(Refused) as refused:
        set_ground(world.coordinator, world.bed, **{**GOOD, **wrong})
    assert refused.value.field == field
    assert sentence in str(refused.value)
    assert Place.objects.get(pk=world.bed.pk).soil == ""


def test_only_a_bed_of_ones_own_garden_and_only_by_who_leads(world: World) -> None:
    with pytest.raises(Refused, match="not a bed"):
        set_ground(world.coordinator, world.bench, **GOOD)
    with pytest.raises(Refused, match="this garden"):
        set_ground(world.coordinator, PlaceFactory(), **GOOD)
    with pytest.raises(PermissionDenied):
        set_ground(world.member, world.bed, **GOOD)


def test_a_year_before_the_record_is_noted_once_and_can_be_taken_back(world: World) -> None:
    noted = {"year": 2024, "family": "fabaceae", "now": NOON}
    note_year(world.coordinator, world.bed, note="", **noted)
    row = note_year(world.coordinator, world.bed, note="  broad  beans ", **noted)
    assert BedYear.objects.get().note == "broad beans"
    with pytest.raises(PermissionDenied):
        forget_year(world.member, row)
    forget_year(world.coordinator, row)
    assert not BedYear.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"year": 2027}, "year"),
        ({"year": 1989}, "year"),
        ({"family": "rosaceae"}, "family"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_a_year_that_cannot_be_is_refused(
    world: World, wrong: dict[str, object], field: str
) -> None:
    given = {"year": 2026, "family": "fabaceae", "note": "", **wrong}
    with pytest.raises(Refused) as refused:
        note_year(world.coordinator, world.bed, now=NOON, **given)  # type: ignore[arg-type]
    assert refused.value.field == field


def test_rows_of_another_garden_are_refused(world: World) -> None:
    other = PlaceFactory()
    with pytest.raises(Refused, match="this garden"):
        note_year(world.coordinator, other, year=2024, family="fabaceae", note="", now=NOON)
    row = BedYear.objects.create(
        garden=other.garden, place=other, year=2024, family="fabaceae", by=world.outsider, at=NOON
    )
    with pytest.raises(Refused, match="this garden"):
        forget_year(world.coordinator, row)


def test_the_record_says_who_stood_in_a_bed(world: World) -> None:
    moved = a_plant(world.member, world.bed, happened_on=date(2025, 6, 1))
    an_entry(
        world.member, moved, Kind.MOVED, place=PlaceFactory(site=world.site),
        happened_on=date(2025, 9, 1),
    )  # fmt: skip
    lifted = a_plant(world.member, world.bed, happened_on=date(2024, 6, 1))
    an_entry(world.member, lifted, Kind.LIFTED, happened_on=date(2024, 10, 1))
    a_sowing(world.member, world.bed, happened_on=date(2026, 5, 1))
    struck = a_plant(world.member, world.quarters, phase="resting")
    strike(
        world.member,
        an_entry(world.member, struck, Kind.MOVED, place=world.bed),
        "",
        now=NOON,
    )
    assert set(stays(placed_in(world.bed))) == {
        Stay("annuum", date(2024, 6, 1), date(2024, 10, 1)),
        Stay("annuum", date(2025, 6, 1), date(2025, 9, 1)),
        Stay("annuum", date(2026, 5, 1), None),
        Stay("annuum", world.plant.began_on, None),
    }


def test_what_turned_a_plants_growth(world: World) -> None:
    an_entry(world.member, world.plant, Kind.GONE_TO_REST, happened_on=date(2026, 9, 1))
    an_entry(world.member, world.plant, Kind.WOKEN, happened_on=date(2026, 9, 20))
    an_entry(world.member, world.plant, Kind.FED, happened_on=date(2026, 9, 21))
    assert turns_of([world.plant]) == {
        world.plant.pk: [
            (Kind.GONE_TO_REST, date(2026, 9, 1)),
            (Kind.WOKEN, date(2026, 9, 20)),
        ]
    }
    assert turns_of([]) == {}


def test_waterings_of_plants_and_sowings_since_a_day(world: World) -> None:
    beans = a_sowing(world.member, world.bed, happened_on=date(2026, 5, 1))
    an_entry(world.member, world.plant, Kind.WATERED, happened_on=date(2026, 8, 1))
    an_entry(world.member, world.plant, Kind.WATERED, happened_on=date(2026, 9, 1), quantity=4.0)
    an_entry(world.member, beans, Kind.WATERED, happened_on=date(2026, 9, 2))
    slip = an_entry(world.member, beans, Kind.WATERED, happened_on=date(2026, 9, 3))
    strike(world.member, slip, "", now=NOON)
    found = watered_since([world.plant], [beans], date(2026, 9, 1))
    assert found == [(date(2026, 9, 1), 4.0), (date(2026, 9, 2), None)]
    assert watered_since([], [], date(2026, 9, 1)) == []


def test_what_was_picked_in_a_bed_since_a_day(world: World) -> None:
    for day, grams in ((date(2026, 7, 1), 100.0), (date(2026, 8, 1), 250.0)):
        an_entry(world.member, world.plant, Kind.PICKED, happened_on=day, quantity=grams)
    an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2026, 8, 2))
    assert picked_since(world.bed, date(2026, 7, 1)) == 350
    assert picked_since(world.bed, date(2026, 7, 2)) == 250
    assert picked_since(world.bench, date(2026, 7, 1)) == 0
