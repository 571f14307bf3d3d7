"""Germination tests against a standard, and seed by its age."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.seed_test import (
    GerminationTest,
    SeedAge,
    Standing,
    lab_standing,
    seed_age,
    sow_by,
)
from lifecycle.agronomy.survival import wilson


def test_share_and_interval():
    test = GerminationTest(15, 20)
    assert test.share == 0.75
    assert test.interval() == wilson(15, 20)
    assert test.interval(0.8) == wilson(15, 20, 0.8)
    assert GerminationTest(0, 1).share == 0


@pytest.mark.parametrize(
    ("sprouted", "expected"),
    [
        (10, Standing.BELOW),
        # 11 of 20 is the standard itself; as few as 15 leave the lot in doubt.
        (11, Standing.MAY_BE_BELOW),
        (15, Standing.MAY_BE_BELOW),
        (16, Standing.MEETS),
        (20, Standing.MEETS),
    ],
)
def test_twenty_seeds_against_55_percent(sprouted, expected):
    assert GerminationTest(sprouted, 20).standing(0.55) == expected


def test_more_seed_or_less_confidence_settles_it():
    assert GerminationTest(150, 200).standing(0.55) == Standing.MEETS
    assert GerminationTest(15, 20).standing(0.55, confidence=0.9) == Standing.MEETS
    low = wilson(15, 20).low
    assert GerminationTest(15, 20).standing(low) == Standing.MEETS
    assert GerminationTest(15, 20).standing(low + 1e-9) == Standing.MAY_BE_BELOW


@given(st.integers(1, 400), st.data(), st.floats(0, 1))
def test_more_sprouts_never_stand_worse(sown, data, standard):
    sprouted = data.draw(st.integers(0, sown - 1))
    order = [Standing.BELOW, Standing.MAY_BE_BELOW, Standing.MEETS]
    worse = GerminationTest(sprouted, sown).standing(standard)
    better = GerminationTest(sprouted + 1, sown).standing(standard)
    assert order.index(worse) <= order.index(better)


def test_a_laboratory_figure_stands_as_it_is():
    assert lab_standing(0.55, 0.55) == "meets"
    assert lab_standing(0.5499, 0.55) == "below"
    assert Standing.MAY_BE_BELOW == "may be below"
    assert_bounds(lambda x: lab_standing(x, 0.5), "Germination", 0, 1)
    assert_bounds(lambda x: lab_standing(0.5, x), "The germination standard", 0, 1)


def test_impossible_tests_are_refused():
    assert refusal(lambda: GerminationTest(0, 0)) == (
        "A germination test needs seeds; give how many were sown, 1 or more."
    )
    assert_bounds(lambda x: GerminationTest(x, 20), "The number of seeds that sprouted", 0, 20)


@pytest.mark.parametrize(
    ("year", "expected"),
    [
        (2023, SeedAge.FRESH),
        (2024, SeedAge.WITHIN),
        (2025, SeedAge.LAST_YEAR),
        (2026, SeedAge.PAST),
        (2040, SeedAge.PAST),
    ],
)
def test_pepper_seed_by_its_age(year, expected):
    assert seed_age(2023, year, 2) == expected
    assert expected.needs_test == (year >= 2026)


def test_seed_of_one_year():
    assert [seed_age(2024, year, 1) for year in (2024, 2025, 2026)] == [
        "packed this year",
        "in the last year of its life",
        "past its life",
    ]
    assert seed_age(2024, 2025, 3) == "within its life"


@given(st.integers(1990, 2040), st.integers(0, 30), st.integers(1, 20))
def test_sow_by_is_the_last_year_without_a_test(packed, age, life):
    year = packed + age
    assert seed_age(packed, year, life).needs_test == (year > sow_by(packed, life))


def test_bounds_of_seed_age():
    assert sow_by(2023, 2) == 2025
    assert_bounds(lambda x: sow_by(2023, x), "The life of seed", 1, 50, "years")
    assert_bounds(lambda x: seed_age(2023, 2023, x), "The life of seed", 1, 50, "years")
    assert refusal(lambda: seed_age(2026, 2025, 2)) == (
        "Seed packed in 2026 cannot be judged for 2025; give a year from 2026 on."
    )
