"""Room in a bed by published distances, and fruit by area."""

from datetime import date

import pytest

from lifecycle.care.bed import Bed, Standing, spacing_of
from lifecycle.care.bed_room import Fits, fruit, room, single_stem_remark
from lifecycle.care.policy import DEFAULTS, policy_of
from lifecycle.handbook import CROPS, fact
from tests.care.beds import DAY, a_crop, standing

BED = Bed(length_m=4.0, width_m=1.2)


def test_plants_keep_their_distances_in_metres() -> None:
    found = spacing_of(a_crop(spacing=45, row_spacing=60), DEFAULTS)
    assert found is not None
    assert (found.in_row_m, found.between_rows_m) == (0.45, 0.60)
    square = spacing_of(a_crop(spacing=45), DEFAULTS)
    assert square is not None
    assert (square.in_row_m, square.between_rows_m) == (0.45, 0.45)
    assert spacing_of(a_crop(), DEFAULTS) is None


def test_tall_tomatoes_stand_by_how_they_are_trained() -> None:
    tall, caged = CROPS["tomato_indeterminate"], policy_of({"tomato_training": "cage"})
    on_string, in_cage = spacing_of(tall, DEFAULTS), spacing_of(tall, caged)
    assert on_string is not None
    assert in_cage is not None
    assert on_string.in_row_m < 0.5
    assert (in_cage.in_row_m, in_cage.between_rows_m) == pytest.approx((0.9144, 0.9144))
    assert spacing_of(CROPS["annuum"], caged) == spacing_of(CROPS["annuum"], DEFAULTS)


def test_free_room_is_what_plants_do_not_take() -> None:
    found = room(BED, [standing(count=4, spacing=50, row_spacing=60)], DEFAULTS)
    assert found is not None
    assert found.area_m2 == pytest.approx(4.8)
    assert found.taken_m2 == pytest.approx(1.2)
    assert found.free_m2 == pytest.approx(3.6)
    assert found.unknown == ()
    spacing = spacing_of(CROPS["annuum"], DEFAULTS)
    assert spacing is not None
    pepper = next(each for each in found.fits if each.crop == "annuum")
    # Eight fit the empty bed of 4.8 m2 by rows; three quarters of it are free.
    assert (pepper.more, pepper.in_all) == (6, 8)
    assert pepper.more < int(3.6 / spacing.plant_m2)
    assert pepper.label == CROPS["annuum"].label


def test_no_more_fit_than_the_empty_bed_holds() -> None:
    found = room(Bed(length_m=4.0, width_m=0.31), [], DEFAULTS)
    assert found is not None
    assert all(each.more <= each.in_all for each in found.fits)
    caged = next(each for each in found.fits if each.crop == "tomato_determinate")
    assert caged == Fits(caged.crop, caged.label, 0, 0)


@pytest.mark.parametrize("crop", ["tomato_indeterminate", "tomato_cherry"])
def test_every_tall_tomato_stands_by_how_it_is_trained(crop: str) -> None:
    caged, strung = policy_of({"tomato_training": "cage"}), DEFAULTS
    wide, narrow = spacing_of(CROPS[crop], caged), spacing_of(CROPS[crop], strung)
    assert wide is not None
    assert narrow is not None
    assert wide.in_row_m == pytest.approx(fact("support.cage_apart").si / 100)
    assert narrow.in_row_m < wide.in_row_m


def test_a_crowded_bed_has_less_than_no_room() -> None:
    found = room(BED, [standing(count=20, spacing=50, row_spacing=60)], DEFAULTS)
    assert found is not None
    assert found.free_m2 == pytest.approx(-1.2)
    assert {each.more for each in found.fits} == {0}


def test_crops_without_a_distance_are_named_and_not_counted() -> None:
    plants = [standing(label="Second"), standing(label="First"), standing(label="First")]
    found = room(BED, plants, DEFAULTS)
    assert found is not None
    assert found.unknown == ("First", "Second")
    assert found.taken_m2 == 0


def test_a_bed_of_unknown_or_no_size() -> None:
    assert room(Bed(length_m=4.0), [], DEFAULTS) is None
    assert room(Bed(width_m=4.0), [], DEFAULTS) is None
    with pytest.raises(ValueError, match="area of the bed"):
        room(Bed(length_m=0.0, width_m=1.0), [], DEFAULTS)


def test_fruit_by_area_from_the_least_to_the_most() -> None:
    plants = [
        Standing(a_crop(fruit_per_plant=(6, 12)), DAY, 4),
        Standing(a_crop(fruit_per_plant=30), date(2026, 5, 1), 2),
        standing(count=9),
    ]
    found = fruit(BED, plants)
    assert found is not None
    assert (found.plants, found.low, found.high) == (6, 84, 108)
    assert (found.low_m2, found.high_m2) == pytest.approx((84 / 4.8, 108 / 4.8))
    assert found.sources == ("fao56",)
    assert fruit(BED, [standing()]) is None
    assert fruit(Bed(length_m=4.0), plants) is None


def test_what_single_stems_can_bear_is_said_beside_tall_tomatoes() -> None:
    tall = [standing(), Standing(CROPS["tomato_indeterminate"], DAY)]
    said = single_stem_remark(tall, DEFAULTS)
    assert said.startswith("300 tomatoes a year from {4.645 m2} are possible with single stems")
    assert "common practice, no source" in said
    assert single_stem_remark(tall, policy_of({"tomato_training": "cage"})) == ""
    assert single_stem_remark([standing()], DEFAULTS) == ""
