"""Plants in a bed, free room, and fruit by area."""

from itertools import combinations
from math import dist, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.spacing import (
    FruitYield,
    Layout,
    Spacing,
    bed_capacity,
    free_room,
    fruit_yield,
    offset_row_distance,
    plants_in,
)

HALF = Spacing(0.5, 0.5)
centimetres = st.integers(10, 120).map(lambda cm: cm / 100)
spacings = st.builds(Spacing, centimetres, centimetres)


def test_names():
    assert list(Layout) == ["rectangular", "offset"]


@pytest.mark.parametrize(
    ("length", "width", "spacing", "expected"),
    [
        (1.2, 0.3, Spacing(0.3, 0.3), 4),
        (1.19, 0.3, Spacing(0.3, 0.3), 3),
        (2.4, 1.2, Spacing(0.45, 0.6), 10),
        (2.4, 1.2, Spacing(0.6, 0.45), 8),
        (0.4, 1.2, HALF, 0),
        (1.2, 0.4, HALF, 0),
    ],
)
def test_square_rows(length, width, spacing, expected):
    assert bed_capacity(length, width, spacing) == expected


@pytest.mark.parametrize(
    ("length", "width", "expected"),
    [
        # Equilateral: rows 0.433 m apart, so a fourth fits where square rows make three.
        (2.0, 1.8, 4 + 3 + 4 + 3),
        (2.25, 1.8, 4 * 4),
        (2.0, 1.79, 4 + 3 + 4),
        (2.0, 0.5, 4),
        (2.0, 0.49, 0),
        (0.3, 5.0, 0),
        (0.2, 5.0, 0),
        (0.5, 0.95, 1),
    ],
)
def test_offset_rows(length, width, expected):
    assert bed_capacity(length, width, HALF, Layout.OFFSET) == expected


def test_distance_of_offset_rows():
    assert offset_row_distance(HALF) == pytest.approx(0.5 * sqrt(3) / 2)
    assert offset_row_distance(Spacing(0.4, 0.6)) == pytest.approx(sqrt(0.36 - 0.04))
    # Wide in the row: held at half, or every other row would come too near.
    assert offset_row_distance(Spacing(1.0, 0.4)) == pytest.approx(0.2)


def offset_positions(length, width, spacing):
    """Every plant of an offset bed, placed one by one half a distance in from the edges."""
    across, row, eps = spacing.between_rows_m / 2, 0, 1e-9
    while across <= width - spacing.between_rows_m / 2 + eps:
        along = spacing.in_row_m * (0.5 if row % 2 == 0 else 1.0)
        while along <= length - spacing.in_row_m / 2 + eps:
            yield along, across
            along += spacing.in_row_m
        across += offset_row_distance(spacing)
        row += 1


@given(centimetres, centimetres, spacings)
def test_offset_plants_fit_and_keep_apart(length, width, spacing):
    plants = list(offset_positions(3 * length, 2 * width, spacing))
    assert bed_capacity(3 * length, 2 * width, spacing, Layout.OFFSET) == len(plants)
    apart = min(spacing.in_row_m, spacing.between_rows_m)
    for one, other in combinations(plants[:40], 2):
        assert dist(one, other) >= apart - 1e-6


@given(centimetres, centimetres, spacings)
def test_square_plants_never_take_more_than_the_bed(length, width, spacing):
    count = bed_capacity(5 * length, 3 * width, spacing)
    assert count * spacing.plant_m2 <= 15 * length * width + 1e-6
    assert bed_capacity(5 * length + spacing.in_row_m, 3 * width, spacing) >= count


def test_free_room():
    peppers, tomatoes = Spacing(0.45, 0.6), Spacing(0.3, 0.9)
    assert free_room(3, [(peppers, 4), (tomatoes, 2)]) == pytest.approx(3 - 1.08 - 0.54)
    assert free_room(1, [(peppers, 5)]) == pytest.approx(-0.35)
    assert free_room(3, []) == 3
    assert peppers.plant_m2 == pytest.approx(0.27)


def test_plants_in_free_room():
    assert plants_in(1.0, HALF) == 4
    assert plants_in(0.99, HALF) == 3
    assert plants_in(3 * 0.3 * 0.3, Spacing(0.3, 0.3)) == 3
    assert plants_in(-0.3, HALF) == 0


def test_three_hundred_tomatoes_from_fifty_square_feet():
    # Common practice, no source: single stems a foot apart, 300 fruit a year.
    foot = 0.3048
    plants = plants_in(50 * foot**2, Spacing(foot, foot))
    found = fruit_yield(300, 50 * foot**2, plants)
    assert plants == 50
    assert found.per_m2 == pytest.approx(64.58, abs=0.01)
    assert found.per_m2 * foot**2 == pytest.approx(6)
    assert found.per_plant == 6
    assert fruit_yield(0, 1, 2) == FruitYield(0, 0)


def test_bounds():
    assert_bounds(lambda x: Spacing(x, 1), "The distance in the row", 0.01, 20, "m")
    assert_bounds(lambda x: Spacing(1, x), "The distance between rows", 0.01, 20, "m")
    assert_bounds(lambda x: bed_capacity(x, 1, HALF), "The length of the bed", 0.01, 1000, "m")
    assert_bounds(lambda x: bed_capacity(1, x, HALF), "The width of the bed", 0.01, 1000, "m")
    assert_bounds(lambda x: free_room(x, []), "The area of the bed", 0.0001, 1e6, "m2")
    assert_bounds(lambda x: free_room(1, [(HALF, x)]), "The number of plants", 0, 1e6)
    assert_bounds(lambda x: fruit_yield(x, 1, 1), "The fruit", 0, 1e9)
    assert_bounds(lambda x: fruit_yield(1, x, 1), "The area of the bed", 0.0001, 1e6, "m2")
    assert_bounds(lambda x: fruit_yield(1, 1, x), "The number of plants", 1, 1e6)
    assert "The area of the bed is 0;" in refusal(lambda: free_room(0, []))
