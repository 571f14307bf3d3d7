"""From a label to a dose and back, in g, m2, litres, spoons and cups."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.nutrients import (
    DRY_FERTILIZER,
    GALLON_LITRES,
    K_IN_K2O,
    P_IN_P2O5,
    Amounts,
    Analysis,
    Measure,
    Nutrient,
    RateUnit,
    dose_for_bed,
    dose_for_hole,
    dose_for_water,
    grams_in,
    handy_measure,
    in_measures,
    material_for,
    phosphate,
    phosphorus,
    potash,
    potassium,
    rate_g_m2,
    strength_ppm,
    supplied,
)

N, P2O5, K2O = Nutrient.N, Nutrient.P2O5, Nutrient.K2O
LABEL = Analysis(10, 20, 5)

percents = st.integers(0, 330).map(lambda tenths: tenths / 10)
labels = st.builds(Analysis, percents, percents, percents)
nutrients = st.sampled_from(Nutrient)


def test_a_label_reads_as_printed():
    assert str(Analysis(15.5, 0, 0)) == "15.5-0-0"
    assert [LABEL.share(nutrient) for nutrient in (N, P2O5, K2O)] == [0.1, 0.2, 0.05]


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("Nitrogen N", lambda x: Analysis(x, 0, 0)),
        ("Phosphate P2O5", lambda x: Analysis(0, x, 0)),
        ("Potash K2O", lambda x: Analysis(0, 0, x)),
    ],
)
def test_each_number_is_a_percentage(name, make):
    assert_bounds(make, name, 0, 100, "percent")


def test_numbers_that_add_to_over_100_are_refused():
    assert refusal(lambda: Analysis(60, 30, 20)) == (
        "The analysis 60-30-20 adds to over 100 percent (110); give the three numbers of the "
        "label: N, P2O5 and K2O."
    )
    assert refusal(lambda: Analysis(50, 50, 1e-6))
    assert Analysis(50, 30, 20)
    # 100.00000000000001 in binary.
    assert Analysis(33.3, 33.4, 33.3).n == 33.3
    assert Analysis(56.7, 30.2, 13.1).k2o == 13.1


def test_oxides_and_elements():
    assert pytest.approx(0.43643, abs=5e-6) == P_IN_P2O5
    assert pytest.approx(0.83015, abs=5e-6) == K_IN_K2O
    assert phosphorus(100) == pytest.approx(43.643, abs=5e-4)
    assert potassium(100) == pytest.approx(83.015, abs=5e-4)
    assert phosphate(1) == pytest.approx(2.2913, abs=5e-5)
    assert potash(1) == pytest.approx(1.2046, abs=5e-5)


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        # 453.59237 g on 1,000 or 100 square feet of 0.09290304 m2, or on 43,560 of them.
        (RateUnit.LB_PER_1000_SQ_FT, 4.882428),
        (RateUnit.LB_PER_100_SQ_FT, 48.82428),
        (RateUnit.LB_PER_ACRE, 0.1120851),
    ],
)
def test_published_rates_in_metric(unit, expected):
    assert rate_g_m2(1, unit) == pytest.approx(expected, rel=1e-6)
    assert rate_g_m2(3, unit) == pytest.approx(3 * expected, rel=1e-6)


def test_units_have_the_names_a_reader_knows():
    assert list(RateUnit) == ["lb per 1,000 sq ft", "lb per 100 sq ft", "lb per acre"]
    assert list(Measure) == ["teaspoon", "tablespoon", "cup"]
    assert list(Nutrient) == ["N", "P2O5", "K2O"]


def test_doses():
    assert material_for(LABEL, P2O5, 8) == 40
    assert dose_for_bed(LABEL, N, 5, 2) == pytest.approx(100)
    # A plant at 0.45 x 0.6 m stands on 0.27 m2.
    assert dose_for_hole(LABEL, K2O, 5, 0.45, 0.6) == pytest.approx(27)
    # 100 mg per litre in 4 litres is 0.4 g.
    assert dose_for_water(LABEL, N, 100, 4) == pytest.approx(4)
    assert dose_for_water(LABEL, N, 100) == pytest.approx(1)
    assert strength_ppm(LABEL, N, 4, 4) == pytest.approx(100)
    assert strength_ppm(LABEL, N, 1) == pytest.approx(100)
    assert dose_for_bed(LABEL, N, 0, 2) == 0
    assert GALLON_LITRES == 3.785411784


@given(labels, nutrients, st.floats(0, 400), st.floats(0.001, 1000))
def test_a_dose_supplies_its_rate(label, nutrient, rate, area):
    assume(label.share(nutrient) > 0)
    dose = dose_for_bed(label, nutrient, rate, area)
    assume(dose <= 1e6)
    back = supplied(label, dose).per_m2(area)
    assert back.of(nutrient) == pytest.approx(rate, rel=1e-9)


@given(labels, nutrients, st.floats(0, 5000), st.floats(0.01, 100))
def test_feed_has_its_strength(label, nutrient, ppm, litres):
    assume(label.share(nutrient) > 0)
    grams = dose_for_water(label, nutrient, ppm, litres)
    assert strength_ppm(label, nutrient, grams, litres) == pytest.approx(ppm, rel=1e-9)


def test_what_a_dose_supplies():
    found = supplied(LABEL, 30)
    assert (found.n, found.p2o5, found.k2o) == (3, 6, 1.5)
    assert found.per_m2(2) == Amounts(1.5, 3, 0.75)
    assert [Amounts(1, 2, 3).of(nutrient) for nutrient in Nutrient] == [1, 2, 3]


def test_a_material_without_the_nutrient_is_refused():
    assert refusal(lambda: dose_for_bed(Analysis(0, 2, 6), N, 1, 1)) == (
        "The material 0-2-6 holds no N; choose one that does, or reckon by a nutrient that it "
        "holds."
    )


def test_a_bed_of_no_area_is_refused():
    told = "The area of the bed is 0; give a value from 0.0001 to 1,000,000 m2."
    assert refusal(lambda: dose_for_bed(LABEL, N, 1, 0)) == told
    assert refusal(lambda: Amounts(1, 1, 1).per_m2(0)) == told


def test_bounds_of_a_dose():
    gram = Analysis(100, 0, 0)
    assert_bounds(lambda x: material_for(gram, N, x), "The amount of N", 0, 1e6, "g")
    assert_bounds(lambda x: dose_for_bed(gram, N, x, 1), "The rate", 0, 500, "g per m2")
    assert_bounds(lambda x: dose_for_bed(gram, N, 0.5, x), "The area of the bed", 0.0001, 1e6, "m2")
    assert_bounds(
        lambda x: dose_for_hole(gram, N, 1, x, 1), "The distance in the row", 0.01, 20, "m"
    )
    assert_bounds(
        lambda x: dose_for_hole(gram, N, 1, 1, x), "The distance between rows", 0.01, 20, "m"
    )
    assert_bounds(lambda x: dose_for_water(gram, N, x), "The strength", 0, 100_000, "ppm")
    assert_bounds(lambda x: dose_for_water(gram, N, 1, x), "The water", 0.01, 1e6, "litres")
    assert_bounds(lambda x: strength_ppm(gram, N, 1, x), "The water", 0.01, 1e6, "litres")
    assert_bounds(lambda x: supplied(gram, x), "The material", 0, 1e6, "g")
    assert_bounds(lambda x: in_measures(x, Measure.CUP), "The material", 0, 1e6, "g")
    assert_bounds(lambda x: in_measures(1, Measure.CUP, x), "The bulk density", 0.05, 3, "g per ml")
    assert_bounds(lambda x: grams_in(x, Measure.CUP), "The number of cups", 0, 1e6)


@pytest.mark.parametrize(
    ("measure", "millilitres"),
    [(Measure.TEASPOON, 4.929), (Measure.TABLESPOON, 14.787), (Measure.CUP, 236.588)],
)
def test_spoons_and_cups(measure, millilitres):
    assert grams_in(2, measure, 0.8) == pytest.approx(1.6 * millilitres)
    assert in_measures(1.6 * millilitres, measure, 0.8) == pytest.approx(2)
    assert in_measures(DRY_FERTILIZER * millilitres, measure) == pytest.approx(1)
    assert grams_in(1, measure) == pytest.approx(DRY_FERTILIZER * millilitres)


@pytest.mark.parametrize(
    ("millilitres", "expected"),
    [
        (0, (0, Measure.TEASPOON)),
        (0.01, (0.25, Measure.TEASPOON)),
        (4.929 * 2.6, (2.5, Measure.TEASPOON)),
        (14.7, (3, Measure.TEASPOON)),
        (14.787, (1, Measure.TABLESPOON)),
        (14.787 * 3.9, (4, Measure.TABLESPOON)),
        (236.5, (16, Measure.TABLESPOON)),
        (236.588, (1, Measure.CUP)),
        (236.588 * 2.7, (2.75, Measure.CUP)),
    ],
)
def test_a_dose_as_one_would_measure_it(millilitres, expected):
    assert handy_measure(millilitres, 1.0) == expected
    assert handy_measure(millilitres * 0.5, 0.5) == expected


def test_without_a_density_dry_fertilizer_is_meant():
    assert handy_measure(453.59237) == (2, Measure.CUP)
    assert handy_measure(4.929 * 1.1) == (1.25, Measure.TEASPOON)
