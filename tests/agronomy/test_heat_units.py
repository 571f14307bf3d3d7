"""Heat units by every method and cut-off, totals and dates, and what is refused."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import refusal

from lifecycle.agronomy.heat_units import (
    Cutoff,
    Method,
    accumulated,
    date_reached,
    day_units,
    heat_units,
)

SINES = (Method.SINGLE_SINE, Method.DOUBLE_SINE)
TEMPERATURES = st.floats(-40, 45)


@st.composite
def days(draw):
    low, high = sorted((draw(TEMPERATURES), draw(TEMPERATURES)))
    return low, high


def sine_curve(low, high, parts=20_000):
    """The day's sine, sampled in the middle of equal parts."""
    angle = 2 * np.pi * (np.arange(parts) + 0.5) / parts
    return (low + high) / 2 + (high - low) / 2 * np.sin(angle)


def by_quadrature(low, high, base, ceiling, cutoff):
    curve = sine_curve(low, high)
    above_base, above_ceiling = np.maximum(curve - base, 0), np.maximum(curve - ceiling, 0)
    units = {
        Cutoff.NONE: above_base,
        Cutoff.HORIZONTAL: above_base - above_ceiling,
        Cutoff.INTERMEDIATE: above_base - 2 * above_ceiling,
        Cutoff.VERTICAL: np.where(curve > ceiling, 0, above_base),
    }
    return max(units[cutoff].mean(), 0.0)


@pytest.mark.parametrize(
    ("tmin", "tmax", "expected"), [(50, 70, 10), (40, 60, 0), (40, 61, 0.5), (30, 50, 0)]
)
def test_simple_average(tmin, tmax, expected):
    assert day_units(tmin, tmax, Method.AVERAGE, 50) == expected


@pytest.mark.parametrize(
    ("tmin", "tmax", "expected"),
    [(40, 60, 5), (60, 96, 23), (90, 99, 36), (30, 50, 0), (50, 86, 18), (50, 87, 18)],
)
def test_modified_average_brings_both_extremes_between_base_and_ceiling(tmin, tmax, expected):
    assert day_units(tmin, tmax, Method.MODIFIED, 50, 86) == expected


@pytest.mark.parametrize(
    ("tmin", "tmax", "expected"),
    [(70, 90, 30), (70, 91, 29), (70, 120, 0), (20, 60, 0), (0, 61, 1)],
)
def test_reduced_ceiling_goes_by_the_maximum_alone(tmin, tmax, expected):
    assert day_units(tmin, tmax, Method.REDUCED_CEILING, 60, 90) == expected


def test_single_sine_wholly_above_wholly_below_and_across():
    assert day_units(55, 80, Method.SINGLE_SINE, 50) == 17.5
    assert day_units(30, 50, Method.SINGLE_SINE, 50) == 0
    # The mean of a half sine of height 10 over the whole day.
    assert day_units(40, 60, Method.SINGLE_SINE, 50) == pytest.approx(10 / np.pi)


@pytest.mark.parametrize("cutoff", Cutoff)
def test_a_day_that_stays_under_the_ceiling_knows_no_cutoff(cutoff):
    assert day_units(55, 86, Method.SINGLE_SINE, 50, 86, cutoff) == 20.5


@pytest.mark.parametrize(
    ("cutoff", "expected"),
    [
        (Cutoff.NONE, 43.5),
        (Cutoff.HORIZONTAL, 36),
        (Cutoff.INTERMEDIATE, 28.5),
        (Cutoff.VERTICAL, 0),
    ],
)
def test_a_day_wholly_above_the_ceiling(cutoff, expected):
    assert day_units(88, 99, Method.SINGLE_SINE, 50, 86, cutoff) == pytest.approx(expected)


@pytest.mark.parametrize("cutoff", Cutoff)
@pytest.mark.parametrize(
    ("low", "high"), [(45, 95), (40, 60), (60, 100), (30, 45), (88, 99), (50, 86)]
)
def test_single_sine_equals_the_sampled_sine(cutoff, low, high):
    found = day_units(low, high, Method.SINGLE_SINE, 50, 86, cutoff)
    assert found == pytest.approx(by_quadrature(low, high, 50, 86, cutoff), abs=5e-3)


def test_an_intermediate_cutoff_never_takes_units_away():
    assert day_units(120, 130, Method.SINGLE_SINE, 50, 86, Cutoff.INTERMEDIATE) == 0


def test_a_flat_day():
    for cutoff in Cutoff:
        assert day_units(60, 60, Method.SINGLE_SINE, 50, 86, cutoff) == 10
        assert day_units(86, 86, Method.SINGLE_SINE, 50, 86, cutoff) == 36
    assert day_units(50, 50, Method.SINGLE_SINE, 50, 86) == 0
    assert day_units(90, 90, Method.SINGLE_SINE, 50, 86, Cutoff.VERTICAL) == 0


def test_the_horizontal_cutoff_is_the_usual_one():
    usual = day_units(45, 95, Method.SINGLE_SINE, 50, 86)
    assert usual == day_units(45, 95, Method.SINGLE_SINE, 50, 86, Cutoff.HORIZONTAL)
    assert usual < day_units(45, 95, Method.SINGLE_SINE, 50)


def test_double_sine_is_the_mean_of_two_single_ones():
    units = heat_units([45, 55, 40], [95, 90, 70], Method.DOUBLE_SINE, 50, 86)
    mixed = [(45, 95), (55, 95), (55, 90), (40, 90)]
    single = [day_units(low, high, Method.SINGLE_SINE, 50, 86) for low, high in mixed]
    assert units[:2] == pytest.approx([sum(single[:2]) / 2, sum(single[2:]) / 2])
    assert np.isnan(units[2])


def test_double_sine_takes_the_minimum_after_the_last_day():
    units = heat_units([45], [95], Method.DOUBLE_SINE, 50, 86, next_tmin=45)
    assert units == pytest.approx([day_units(45, 95, Method.SINGLE_SINE, 50, 86)])


def test_double_sine_when_the_next_night_is_warmer_than_the_day():
    found = day_units(40, 60, Method.DOUBLE_SINE, 50, next_tmin=70)
    across = day_units(40, 60, Method.SINGLE_SINE, 50)
    above = day_units(60, 70, Method.SINGLE_SINE, 50)
    assert found == pytest.approx((across + above) / 2)


@pytest.mark.parametrize("method", Method)
def test_a_missing_value_gives_no_units_for_that_day_only(method):
    needs = method in (Method.MODIFIED, Method.REDUCED_CEILING)
    units = heat_units(
        [10, np.nan, 12, 13, 14],
        [20, 21, np.nan, 23, 24],
        method,
        8,
        30 if needs else None,
        next_tmin=12,
    )
    # The double sine of the first day needs the second minimum too.
    missing = [method is Method.DOUBLE_SINE, True, True, False, False]
    assert np.isnan(units).tolist() == missing


@given(days(), st.sampled_from(Cutoff), st.floats(0, 15), st.floats(1, 25))
def test_units_stay_between_nothing_and_the_uncut_sine(day, cutoff, base, width):
    units = day_units(*day, Method.SINGLE_SINE, base, base + width, cutoff)
    uncut = day_units(*day, Method.SINGLE_SINE, base)
    assert -1e-12 <= units <= uncut + 1e-9
    if cutoff is Cutoff.HORIZONTAL:
        assert units <= width + 1e-9


@given(days(), st.floats(0, 15), st.floats(1, 25))
def test_the_kinder_the_cutoff_the_more_units(day, base, width):
    units = [
        day_units(*day, Method.SINGLE_SINE, base, base + width, cutoff)
        for cutoff in (Cutoff.INTERMEDIATE, Cutoff.HORIZONTAL, Cutoff.NONE)
    ]
    assert units[0] <= units[1] + 1e-9
    assert units[1] <= units[2] + 1e-9
    vertical = day_units(*day, Method.SINGLE_SINE, base, base + width, Cutoff.VERTICAL)
    assert vertical <= units[1] + 1e-9


@given(days(), st.sampled_from([Method.AVERAGE, *SINES]))
def test_fahrenheit_gives_nine_fifths_of_the_celsius_units(day, method):
    celsius = day_units(*day, method, 10, next_tmin=day[0])
    warm = [value * 1.8 + 32 for value in day]
    assert day_units(*warm, method, 50, next_tmin=warm[0]) == pytest.approx(1.8 * celsius, abs=1e-9)


@given(days())
def test_the_sine_is_never_below_the_simple_average(day):
    sine = day_units(*day, Method.SINGLE_SINE, 10)
    assert sine >= day_units(*day, Method.AVERAGE, 10) - 1e-9


@given(st.lists(days(), min_size=1, max_size=5), st.sampled_from(Method))
def test_many_days_are_each_one_day(several, method):
    low, high = (np.array(side) for side in zip(*several, strict=True))
    ceiling = None if method is Method.AVERAGE else 30
    together = heat_units(low, high, method, 10, ceiling, next_tmin=12.0)
    following = [*low[1:], 12.0]
    for index, (cold, warm) in enumerate(several):
        alone = day_units(cold, warm, method, 10, ceiling, next_tmin=following[index])
        assert together[index] == pytest.approx(alone, abs=1e-12)


def test_the_words_that_are_stored_and_shown():
    assert [method.value for method in Method] == [
        "simple average",
        "modified average",
        "single sine",
        "double sine",
        "reduced ceiling",
    ]
    assert [cutoff.value for cutoff in Cutoff] == [
        "none",
        "horizontal",
        "intermediate",
        "vertical",
    ]


NO_BASE = (
    "There is no base temperature for this crop, so its heat cannot be counted; "
    "give one with its source."
)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((Method.AVERAGE, None), NO_BASE),
        ((Method.AVERAGE, float("nan")), NO_BASE),
        ((Method.AVERAGE, float("inf")), NO_BASE),
        (
            (Method.MODIFIED, 50),
            "The modified average needs a ceiling; give one, such as 86 F (30 C).",
        ),
        (
            (Method.REDUCED_CEILING, 60),
            "The reduced ceiling needs a ceiling; give one, such as 86 F (30 C).",
        ),
        (
            (Method.AVERAGE, 50, 86),
            "The simple average takes no ceiling; leave it out, or choose the modified average "
            "or a sine.",
        ),
        (
            (Method.SINGLE_SINE, 50, 50),
            "The ceiling 50 is not above the base 50; give a higher ceiling.",
        ),
        (
            (Method.MODIFIED, 86, 50),
            "The ceiling 50 is not above the base 86; give a higher ceiling.",
        ),
        (
            (Method.SINGLE_SINE, 50, float("inf")),
            "The ceiling inf is not above the base 50; give a higher ceiling.",
        ),
        (
            (Method.MODIFIED, 50, 86, Cutoff.VERTICAL),
            "The modified average has a cut-off of its own; leave the cut-off kind out.",
        ),
        (
            (Method.DOUBLE_SINE, 50),
            "The double sine needs the next day's minimum as well; give it.",
        ),
    ],
)
def test_refused(arguments, sentence):
    assert refusal(lambda: day_units(45, 95, *arguments)) == sentence


def test_a_maximum_below_the_minimum_is_refused():
    assert "below the minimum" in refusal(lambda: heat_units([10], [9], Method.AVERAGE, 5))


def test_a_missing_day_adds_nothing_to_the_total():
    assert accumulated([1.5, np.nan, 2]).tolist() == [1.5, 1.5, 3.5]


def test_the_date_a_total_is_reached():
    dates = np.arange("2023-05-01", "2023-05-05", dtype="datetime64[D]")
    units = [10, np.nan, 5, 5]
    assert date_reached(dates, units, 10) == date(2023, 5, 1)
    assert date_reached(dates, units, 10.5) == date(2023, 5, 3)
    assert date_reached(dates, units, 20) == date(2023, 5, 4)
    assert date_reached(dates, units, 20.5) is None
    assert date_reached(dates[:0], [], 1) is None


def test_ten_tenths_reach_one():
    dates = np.arange("2023-05-01", "2023-05-11", dtype="datetime64[D]")
    assert accumulated([0.1] * 10)[-1] < 1
    assert date_reached(dates, [0.1] * 10, 1) == date(2023, 5, 10)
    assert date_reached(dates, [0.1] * 10, 1 + 1e-8) is None


@pytest.mark.parametrize("total", [0, -1, float("nan")])
def test_a_total_that_is_no_total_is_refused(total):
    dates = np.array(["2023-05-01"], dtype="datetime64[D]")
    assert refusal(lambda: date_reached(dates, [1], total)) == (
        f"A total of heat units is above 0, not {total:g}; give a higher one."
    )
