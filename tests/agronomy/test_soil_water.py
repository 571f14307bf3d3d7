"""The water a bed holds, and its balance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.soil_water import (
    BedSoil,
    SoilLayer,
    effective_rain,
    mulched,
    readily_available_water,
    stress_coefficient,
    water_balance,
)

LOAM = SoilLayer(300, 0.27, 0.12)
SAND = SoilLayer(500, 0.12, 0.05)
BED = BedSoil((LOAM, SAND))


@pytest.mark.parametrize(
    ("soil", "rooting", "depth", "water"),
    [
        (BED, 200, 200, 30),
        (BED, 300, 300, 45),
        (BED, 400, 400, 52),
        (BED, 900, 800, 80),
        (BedSoil((LOAM, SAND), barrier_mm=150), 900, 150, 22.5),
        (BedSoil((LOAM, SAND), barrier_mm=500), 900, 500, 59),
        (BedSoil((LOAM, SAND), barrier_mm=500), 100, 100, 15),
        (BedSoil((LOAM,), barrier_mm=500), 900, 300, 45),
    ],
)
def test_water_in_the_depth_that_roots_use(soil, rooting, depth, water):
    assert soil.usable_depth(rooting) == depth
    assert soil.available_water(rooting) == pytest.approx(water)


def test_soil_that_holds_no_water_is_refused():
    sentence = (
        "The wilting point {} is not below field capacity 0.2; check whether the two were swapped."
    )
    assert refusal(lambda: SoilLayer(300, 0.2, 0.2)) == sentence.format("0.2")
    assert refusal(lambda: SoilLayer(300, 0.2, 0.3)) == sentence.format("0.3")
    assert SoilLayer(300, 1, 0).field_capacity == 1
    assert refusal(lambda: BedSoil(())) == (
        "A bed without soil holds no water; give it at least one layer."
    )


def test_bounds_of_a_soil():
    assert_bounds(lambda mm: SoilLayer(mm, 0.3, 0.1), "The depth of a soil layer", 1, 5000, "mm")
    assert_bounds(lambda mm: BedSoil((LOAM,), mm), "The depth of the root barrier", 1, 5000, "mm")
    assert_bounds(BED.usable_depth, "The rooting depth", 1, 5000, "mm")
    volume = "give a value from 0 to 1 of the volume."
    assert refusal(lambda: SoilLayer(300, 1.1, 0)) == f"Field capacity is 1.1; {volume}"
    assert refusal(lambda: SoilLayer(300, -0.1, -0.2)) == f"Field capacity is -0.1; {volume}"
    assert refusal(lambda: SoilLayer(300, 0.3, -0.1)) == f"The wilting point is -0.1; {volume}"
    assert refusal(lambda: SoilLayer(300, 0.3, 1.1)) == f"The wilting point is 1.1; {volume}"


def test_readily_available_water():
    assert readily_available_water([72, 30], 0.4) == pytest.approx([28.8, 12])
    assert_bounds(lambda mm: readily_available_water(mm, 0.4), "Available water", 0.1, 2000, "mm")
    assert_bounds(
        lambda p: readily_available_water(72, p), "The share p of available water", 0.01, 0.99
    )


@pytest.mark.parametrize(
    ("depletion", "expected"), [(0, 1), (40, 1), (55, 0.75), (70, 0.5), (100, 0), (150, 0)]
)
def test_stress_sets_in_past_what_is_readily_available(depletion, expected):
    assert stress_coefficient(depletion, 100, 0.4) == pytest.approx(expected)


def test_bounds_of_a_depletion():
    assert_bounds(lambda mm: stress_coefficient(mm, 100, 0.4), "Depletion", 0, 2000, "mm")


@pytest.mark.parametrize(
    ("share", "cut", "expected"), [(0, 1, 5), (1, 1, 0), (0.4, 0.5, 4), (1, 0, 5), (1, 0.25, 3.75)]
)
def test_mulch_cuts_what_evaporates_from_the_soil(share, cut, expected):
    assert mulched(5, share, cut) == pytest.approx(expected)


def test_bounds_under_mulch():
    assert_bounds(
        lambda share: mulched(5, share, 1), "The share that evaporates from the soil", 0, 1
    )
    assert_bounds(lambda cut: mulched(5, 1, cut), "The part of evaporation that mulch cuts", 0, 1)
    assert refusal(lambda: mulched(-1, 1, 1)) == (
        "Crop evapotranspiration is -1; give a value from 0 to 30 mm a day."
    )
    assert "is 31;" in refusal(lambda: mulched(31, 1, 1))
    assert np.isnan(mulched(np.nan, 1, 1))


def test_small_rain_dries_where_it_falls():
    assert effective_rain([0, 0.9, 1, 10], 5).tolist() == [0, 0, 1, 10]
    assert_bounds(lambda mm: effective_rain(mm, 5), "Rain", 0, 2000, "mm")
    assert_bounds(
        lambda mm: effective_rain(1, mm), "Reference evapotranspiration", 0, 30, "mm a day"
    )


def test_a_balance_by_hand():
    # TAW 50, p 0.4: stress past 20 mm.
    found = water_balance(10, 50, 0.4, [5, 6, 6, 5], [0, 0, 0, 40], [0, 1, 0, 0])
    assert found.depletion.tolist() == pytest.approx([15, 20, 26, 0])
    assert found.stress.tolist() == pytest.approx([1, 1, 1, 0.8])
    assert found.used.tolist() == pytest.approx([5, 6, 6, 4])
    assert found.drained.tolist() == pytest.approx([0, 0, 0, 10])


def test_a_bed_never_dries_beyond_its_wilting_point():
    # 4 mm left and Ks 4 / 5: 8 mm wanted, 4 taken.
    found = water_balance(6, 10, 0.5, [10, 10])
    assert found.depletion.tolist() == [10, 10]
    assert found.stress.tolist() == pytest.approx([0.8, 0])
    assert found.used.tolist() == pytest.approx([4, 0])
    assert found.drained.tolist() == [0, 0]


def test_p_may_change_from_day_to_day():
    found = water_balance(30, 100, [0.2, 0.5], [8, 0])
    assert found.stress.tolist() == pytest.approx([0.875, 1])


@st.composite
def beds(draw):
    count = draw(st.integers(1, 4))
    days = draw(st.integers(1, 6))
    numbers = lambda low, high, size: draw(  # noqa: E731
        st.lists(st.floats(low, high), min_size=size, max_size=size)
    )
    available = np.array(numbers(5, 200, count))
    start = available * np.array(numbers(0, 1, count))
    p = np.array(numbers(0.1, 0.8, count))
    etc = np.array(numbers(0, 12, days * count)).reshape(days, count)
    rain = np.array(numbers(0, 60, days)).reshape(days, 1)
    given_mm = np.array(numbers(0, 30, days * count)).reshape(days, count)
    return start, available, p, etc, rain, given_mm


@given(beds())
def test_a_balance_closes_and_stays_within_the_bed(bed):
    start, available, _p, etc, rain, given_mm = bed
    found = water_balance(*bed)
    before = np.vstack([start, found.depletion[:-1]])
    moved = found.used + found.drained - rain - given_mm
    assert found.depletion - before == pytest.approx(moved, abs=1e-9)
    assert np.all((found.depletion >= 0) & (found.depletion <= available))
    assert np.all((found.used >= -1e-12) & (found.used <= etc + 1e-12))
    assert np.all(found.drained >= 0)


@given(beds())
def test_many_beds_are_each_one_bed(bed):
    start, available, p, etc, rain, given_mm = bed
    together = water_balance(*bed)
    for place in range(available.size):
        alone = water_balance(
            start[place], available[place], p[place], etc[:, place], rain[:, 0], given_mm[:, place]
        )
        assert alone.depletion.tolist() == together.depletion[:, place].tolist()
        assert alone.drained.tolist() == together.drained[:, place].tolist()


@given(beds(), st.floats(0, 20))
def test_more_rain_never_leaves_a_bed_drier(bed, more):
    start, available, p, etc, rain, given_mm = bed
    drier = water_balance(*bed)
    wetter = water_balance(start, available, p, etc, rain + more, given_mm)
    assert np.all(wetter.depletion <= drier.depletion + 1e-9)


def test_bounds_of_a_balance():
    def of(**changed):
        given_mm = {"start_mm": 5, "available_mm": 50, "p": 0.4, "etc_mm": [5]} | changed
        return water_balance(**given_mm)

    assert_bounds(lambda mm: of(etc_mm=[mm]), "Crop evapotranspiration", 0, 30, "mm a day")
    assert_bounds(lambda mm: of(rain_mm=[mm]), "Rain", 0, 2000, "mm")
    assert_bounds(lambda mm: of(irrigation_mm=[mm]), "Irrigation", 0, 2000, "mm")
    assert_bounds(lambda p: of(p=p), "The share p of available water", 0.01, 0.99)
    assert_bounds(lambda mm: of(start_mm=0, available_mm=mm), "Available water", 0.1, 2000, "mm")
    assert_bounds(lambda mm: of(start_mm=mm, available_mm=2000), "Depletion", 0, 2000, "mm")


def test_a_bed_drier_than_it_can_be_is_refused():
    assert refusal(lambda: water_balance([5, 50.1], [60, 50], 0.4, [[5, 5]])) == (
        "Depletion is more than the bed can hold; give at most its available water."
    )
    assert water_balance(50, 50, 0.4, [5]).stress == 0


def test_a_balance_wants_days():
    assert refusal(lambda: water_balance(5, 50, 0.4, 5)) == (
        "A water balance runs over days; give evapotranspiration day by day."
    )
