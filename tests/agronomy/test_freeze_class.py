"""Freeze and forecast classes at their limits, chilling, and what a cover leaves."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.freeze_class import (
    ColdClass,
    CoveredMinimum,
    ForecastClass,
    FreezeClass,
    cold_class,
    forecast_class,
    freeze_class,
    under_cover,
)


def c(degrees_f):
    return (degrees_f - 32) / 1.8


def calm(minimum_c, **how):
    return forecast_class(minimum_c, calm_and_clear=True, in_season=True, **how)


def test_words():
    assert list(FreezeClass) == ["no freeze", "light freeze", "moderate freeze", "severe freeze"]
    assert list(ForecastClass) == [
        "none",
        "frost advisory",
        "freeze warning",
        "hard freeze warning",
    ]
    assert list(ColdClass) == ["no harm", "chilling", "freezing"]


@pytest.mark.parametrize(
    ("minimum", "expected"),
    [
        (0.051, FreezeClass.NONE),
        (0.05, FreezeClass.LIGHT),
        (-2.17, FreezeClass.LIGHT),
        (-2.173, FreezeClass.MODERATE),
        (-4.39, FreezeClass.MODERATE),
        (-4.395, FreezeClass.SEVERE),
        (-30, FreezeClass.SEVERE),
    ],
)
def test_minima_in_celsius_have_their_rounding(minimum, expected):
    # 28 F is -2.222 C and 24 F -4.444 C; each class begins 0.05 C above.
    assert freeze_class(minimum) is expected


@pytest.mark.parametrize(
    ("minimum_f", "expected"),
    [
        (33, "NONE"),
        (32, "LIGHT"),
        (29, "LIGHT"),
        (28, "MODERATE"),
        (25, "MODERATE"),
        (24, "SEVERE"),
    ],
)
def test_whole_fahrenheit_however_it_is_stored(minimum_f, expected):
    for stored in (c(minimum_f), round(c(minimum_f), 1)):
        assert freeze_class(stored, whole_fahrenheit=True) is FreezeClass[expected]
        assert freeze_class(stored) is FreezeClass[expected]


@pytest.mark.parametrize(
    ("minimum_f", "expected"),
    [
        (37, "NONE"),
        (36, "FROST_ADVISORY"),
        (33, "FROST_ADVISORY"),
        (32, "FREEZE_WARNING"),
        (29, "FREEZE_WARNING"),
        (28, "HARD_FREEZE_WARNING"),
    ],
)
def test_headlines(minimum_f, expected):
    assert calm(c(minimum_f)) is ForecastClass[expected]
    assert calm(round(c(minimum_f), 1), whole_fahrenheit=True) is ForecastClass[expected]


def test_rounding_is_only_undone_where_it_was_done():
    for degrees_f, expected in ((28.51, FreezeClass.LIGHT), (28.49, FreezeClass.MODERATE)):
        assert freeze_class(c(degrees_f), whole_fahrenheit=True) is expected
    assert freeze_class(0.2) is FreezeClass.NONE
    assert freeze_class(0.2, whole_fahrenheit=True) is FreezeClass.LIGHT
    assert calm(2.4) is ForecastClass.NONE
    assert calm(2.4, whole_fahrenheit=True) is ForecastClass.FROST_ADVISORY


def test_frost_needs_a_calm_clear_night_in_season():
    for calm_and_clear, in_season in ((False, True), (True, False), (False, False)):
        how = {"calm_and_clear": calm_and_clear, "in_season": in_season}
        assert forecast_class(c(34), **how) is ForecastClass.NONE
        assert forecast_class(c(31), **how) is ForecastClass.FREEZE_WARNING
        assert forecast_class(c(20), **how) is ForecastClass.HARD_FREEZE_WARNING


@given(st.floats(-50, 40), st.floats(0, 20))
def test_colder_is_never_milder(minimum, by):
    for classes, of in ((list(FreezeClass), freeze_class), (list(ForecastClass), calm)):
        assert classes.index(of(minimum - by)) >= classes.index(of(minimum))


@pytest.mark.parametrize(
    ("minimum", "expected"),
    [
        (10, ColdClass.WARM),
        (9.99, ColdClass.CHILLING),
        (0.01, ColdClass.CHILLING),
        (0, ColdClass.FREEZING),
        (-5, ColdClass.FREEZING),
    ],
)
def test_cold_on_a_plant(minimum, expected):
    assert cold_class(minimum, chilling_c=10, freezing_c=0) is expected


def test_limits_converted_from_fahrenheit():
    # 55 F is 12.777... C; a night of exactly 55 F is not below it.
    assert cold_class(c(55), chilling_c=c(55), freezing_c=c(31)) is ColdClass.WARM
    assert cold_class(c(55) - 1e-10, chilling_c=c(55), freezing_c=0) is ColdClass.WARM
    assert cold_class(c(55) - 1e-8, chilling_c=c(55), freezing_c=0) is ColdClass.CHILLING
    assert cold_class(1e-10, chilling_c=10, freezing_c=0) is ColdClass.FREEZING
    assert cold_class(1e-8, chilling_c=10, freezing_c=0) is ColdClass.CHILLING


def test_limits_in_the_wrong_order():
    told = "The freezing limit 5 C is not below the chilling limit {} C; check whether the two "
    for chilling in (5, 4):
        assert (
            refusal(lambda chilling=chilling: cold_class(0, chilling_c=chilling, freezing_c=5))
            == told.format(chilling) + "were swapped."
        )


def test_under_a_cover():
    assert under_cover(-3, 1, 2.5) == CoveredMinimum(-2, -0.5)
    assert under_cover(-3, 0, 0) == CoveredMinimum(-3, -3)
    assert_bounds(lambda x: under_cover(0, x, 15), "The low gain of a cover", 0, 15, "C")
    assert_bounds(lambda x: under_cover(0, 2, x), "The high gain of a cover", 2, 15, "C")


@pytest.mark.parametrize(
    "of",
    [
        freeze_class,
        calm,
        lambda x: cold_class(x, chilling_c=10, freezing_c=0),
        lambda x: under_cover(x, 1, 2),
    ],
)
def test_minima_that_no_air_has(of):
    assert_bounds(of, "The minimum", -95, 60, "C")
