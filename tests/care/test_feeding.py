"""Doses by the material at hand, what they supply, and what to beware of."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.agronomy.nutrients import DRY_FERTILIZER, Amounts, Analysis, Measure, Nutrient
from lifecycle.agronomy.spacing import Spacing
from lifecycle.care import feeding
from lifecycle.care.bed_rotation import FamilyYear, nitrogen_left
from lifecycle.care.feeding import FedPlant, Feed
from lifecycle.handbook import CROPS, days, fact
from tests.care.beds import DAY

EVEN = Feed("even", "Even feed", Analysis(2, 4, 2))
BLOOD = Feed("blood", "Blood", Analysis(12, 0, 0))
BONE = Feed("bone", "Bone", Analysis(3, 15, 0), 0.8)
KELP = Feed("kelp", "Kelp", Analysis(1, 0, 2))
TARGET = Amounts(3.0, 6.0, 3.0)


def test_the_target_is_the_side_dressing_with_phosphate_and_potash_beside_it() -> None:
    n = fact("feed.side_dress_n").si
    target = feeding.target_g_m2()
    assert (target.n, target.p2o5, target.k2o) == pytest.approx((n, 2 * n, n))
    water = feeding.target_ppm()
    ppm = fact("feed.starter_n").si
    assert (water.n, water.p2o5, water.k2o) == pytest.approx((ppm, 2 * ppm, ppm))


def test_a_bed_gets_what_first_reaches_a_target_and_nothing_goes_over() -> None:
    even = feeding.dose_bed(EVEN, 4.0, TARGET)
    assert even.grams == pytest.approx(600)
    assert even.supplies == Amounts(pytest.approx(12), pytest.approx(24), pytest.approx(12))
    bone = feeding.dose_bed(BONE, 4.0, TARGET)
    assert (bone.grams, bone.limited_by) == (pytest.approx(160), Nutrient.P2O5)
    blood = feeding.dose_bed(BLOOD, 4.0, TARGET)
    assert (blood.grams, blood.limited_by) == (pytest.approx(100), Nutrient.N)
    kelp = feeding.dose_bed(KELP, 4.0, TARGET)
    assert (kelp.grams, kelp.limited_by) == (pytest.approx(600), Nutrient.K2O)


def test_what_a_dose_is_for_by_the_word_in_an_address() -> None:
    assert [use.value for use in feeding.Use] == ["bed", "hole", "water"]


def test_a_nutrient_that_is_not_wanted_does_not_set_the_dose() -> None:
    dose = feeding.dose_bed(BONE, 4.0, Amounts(3.0, 0.0, 3.0))
    assert (dose.grams, dose.limited_by) == (pytest.approx(400), Nutrient.N)
    with pytest.raises(
        ValueError, match=r"^The material 12-0-0 holds nothing that is asked for; choose another"
    ):
        feeding.dose_bed(BLOOD, 4.0, Amounts(0.0, 6.0, 3.0))


def test_a_hole_gets_one_plants_share_and_water_its_litres() -> None:
    hole = feeding.dose_hole(EVEN, Spacing(0.5, 0.6), TARGET)
    assert hole.grams == pytest.approx(45)
    water = feeding.dose_water(EVEN, 10.0, Amounts(200.0, 400.0, 200.0))
    assert water.grams == pytest.approx(100)


def test_doses_come_in_kitchen_measures_by_the_materials_own_density() -> None:
    bone = feeding.dose_bed(BONE, 1.0, TARGET)
    assert (bone.count, bone.measure) == (3.5, Measure.TABLESPOON)
    assert EVEN.g_per_ml == DRY_FERTILIZER
    assert BONE.g_per_ml == 0.8
    given = feeding.given(EVEN, DRY_FERTILIZER * 236.588)
    assert (given.count, given.measure) == (1, Measure.CUP)


@pytest.mark.parametrize("area", [0.0, -1.0, float("nan")])
def test_a_bed_of_no_area_is_refused(area: float) -> None:
    with pytest.raises(ValueError, match="The area of the bed"):
        feeding.dose_bed(EVEN, area, TARGET)
    with pytest.raises(ValueError, match="The area of the bed"):
        feeding.mix([BONE, KELP], area, TARGET)


@pytest.mark.parametrize(
    ("area", "meant"), [(0.01, True), (0.009, False), (40_000, True), (40_001, False)]
)
def test_a_mix_is_made_for_areas_that_gardens_have(area: float, meant: bool) -> None:
    small = Amounts(0.1, 0.1, 0.1)
    if meant:
        assert feeding.mix([BONE, KELP], area, small).doses
    else:
        with pytest.raises(ValueError, match=r"give a value from 0\.01 to 40,000 m2"):
            feeding.mix([BONE, KELP], area, small)


def test_a_mix_meets_the_target_and_shows_what_is_over() -> None:
    made = feeding.mix([BLOOD, BONE, KELP], 2.0, TARGET)
    assert [feed.key for feed, _ in made.doses] == ["blood", "bone", "kelp"]
    wanted = (6.0, 12.0, 6.0)
    supplied = (made.supplies.n, made.supplies.p2o5, made.supplies.k2o)
    assert all(got >= want - 1e-6 for got, want in zip(supplied, wanted, strict=True))
    over = (made.excess.n, made.excess.p2o5, made.excess.k2o)
    assert over == pytest.approx(tuple(a - b for a, b in zip(supplied, wanted, strict=True)))
    assert sum(dose.grams for _, dose in made.doses) == pytest.approx(300 + 80 + 50, rel=0.3)
    for _feed, dose in made.doses:
        assert dose.grams >= 0


def test_a_material_without_nutrients_may_stand_in_a_mix() -> None:
    salts = Feed("epsom", "Epsom salt", Analysis(0, 0, 0), magnesium=True)
    made = feeding.mix([EVEN, salts], 2.0, TARGET)
    assert [dose.grams for _, dose in made.doses] == [pytest.approx(300), 0]
    assert made.doses[1][1].limited_by is None


@pytest.mark.parametrize("number", [0, 1, 4])
def test_two_or_three_materials_are_mixed(number: int) -> None:
    with pytest.raises(ValueError, match=rf"^Mix two or three materials, not {number}\.$"):
        feeding.mix([EVEN] * number, 2.0, TARGET)
    assert len(feeding.mix([EVEN, KELP], 2.0, TARGET).doses) == 2


@given(
    st.builds(
        lambda n, p, k: Analysis(n, p, k), st.floats(0, 33), st.floats(0, 33), st.floats(0.5, 33)
    ),
    st.floats(0.01, 1000),
)
def test_no_dose_supplies_more_than_is_wanted(analysis: Analysis, area: float) -> None:
    dose = feeding.dose_bed(Feed("any", "Any", analysis), area, TARGET)
    for nutrient in Nutrient:
        assert dose.supplies.of(nutrient) <= TARGET.of(nutrient) * area * (1 + 1e-9)


def pepper(ago: int | None = None, *, old: bool = False, crop: str = "annuum") -> FedPlant:
    return FedPlant(CROPS[crop], None if ago is None else DAY - timedelta(ago), old)


def test_a_pepper_is_young_until_its_first_feed_is_over() -> None:
    last = days("feed.first_max")
    assert feeding.is_young(pepper(last), DAY)
    assert not feeding.is_young(pepper(last + 1), DAY)
    assert feeding.is_young(pepper(), DAY)
    assert feeding.is_young(FedPlant(CROPS["chinense"], DAY), DAY)
    assert not feeding.is_young(pepper(0, old=True), DAY)
    assert not feeding.is_young(pepper(0, crop="tomato_semi"), DAY)


def test_a_first_feed_too_early() -> None:
    first = days("feed.first_min")
    assert feeding.too_early(pepper(first - 1), DAY)
    assert not feeding.too_early(pepper(first), DAY)
    assert not feeding.too_early(pepper(), DAY)
    assert not feeding.too_early(pepper(0, old=True), DAY)


@pytest.mark.parametrize(
    ("analysis", "rich"),
    [
        ((12, 0, 0), True),
        ((10, 10, 10), True),
        ((2, 4, 2), False),
        ((4, 2, 5), False),
        ((4, 5, 2), False),
        ((1, 0, 2), False),
        ((0.5, 0, 0), True),
        ((0, 0, 0), False),
    ],
)
def test_what_is_rich_in_nitrogen(analysis: tuple[float, float, float], rich: bool) -> None:
    assert feeding.rich_in_nitrogen(Analysis(*analysis)) is rich


def test_nitrogen_for_a_young_pepper_is_warned_of() -> None:
    young, grown = [pepper(25)], [pepper(60)]
    [said] = feeding.warnings([BLOOD], young, None, DAY)
    assert said == (
        "Blood (12-0-0) adds nitrogen that a young pepper should not have: it makes leaf and puts "
        "off fruit. Take one with little nitrogen, such as 2-4-2."
    )
    assert feeding.warnings([BLOOD], grown, None, DAY) == []
    assert feeding.warnings([EVEN], young, None, DAY) == []
    assert len(feeding.warnings([BLOOD, EVEN], [*grown, *young], None, DAY)) == 1


def test_a_feed_before_its_time_is_warned_of() -> None:
    [said] = feeding.warnings([EVEN], [pepper(5), pepper(60)], None, DAY)
    assert said == (
        "The first real feed comes three to four weeks after planting out. Until then what was "
        "put into the hole is enough."
    )


def test_magnesium_salts_are_no_cure() -> None:
    salts = Feed("epsom", "Epsom salt", Analysis(0, 0, 0), magnesium=True)
    [said] = feeding.warnings([salts], [pepper(60)], None, DAY)
    assert said == (
        "Magnesium salts are no cure for blossom-end rot; even watering is. They may serve in pots "
        "where leaves yellow between the veins."
    )


def test_what_a_legume_left_is_said_where_nitrogen_is_given() -> None:
    left = nitrogen_left([FamilyYear(2025, "fabaceae", ("bean",))], 2026)
    assert left is not None
    assert feeding.warnings([EVEN], [pepper(60)], left, DAY) == [left.sentence]
    potash = Feed("ash", "Ash", Analysis(0, 2, 6))
    assert feeding.warnings([potash], [pepper(60)], left, DAY) == []
    assert feeding.warnings([KELP, potash], [pepper(60)], left, DAY) == [left.sentence]


def test_what_rests_is_not_fed() -> None:
    even = Feed("own", "Bag", Analysis(2, 4, 2))
    resting = FedPlant(CROPS["annuum"], None, old=True, resting=True)
    awake = FedPlant(CROPS["annuum"], None, old=True)
    [said] = feeding.warnings([even], [awake, resting], None, DAY)
    assert said == "What rests is not fed: roots that stand still are burnt. Wait until it grows."
    assert feeding.warnings([even], [awake], None, DAY) == []
