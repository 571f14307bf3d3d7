"""Light of lamps, windows and the sky."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.light import (
    FOOT_CANDLES_PER_UMOL,
    LUX_PER_UMOL,
    LightSource,
    daily_light_integral,
    dli_of_radiation,
    lamp_hours,
    ppfd_of,
    window_dli,
)


def test_daily_light_integral():
    assert daily_light_integral(200, 16) == pytest.approx(11.52)
    assert daily_light_integral(0, 24) == 0
    assert daily_light_integral(200, 0) == 0


def test_a_lamp_brighter_than_the_sun_is_refused():
    assert refusal(lambda: daily_light_integral(1e6, 16)) == (
        "The light level is 1,000,000; give a value from 0 to 3,000 umol/m2/s."
    )
    assert_bounds(
        lambda ppfd: daily_light_integral(ppfd, 16), "The light level", 0, 3000, "umol/m2/s"
    )
    assert_bounds(
        lambda hours: daily_light_integral(200, hours), "The hours of light", 0, 24, "hours a day"
    )


def test_a_meter_reads_lux_or_foot_candles():
    assert ppfd_of(5400, LUX_PER_UMOL[LightSource.SUN]) == 100
    assert ppfd_of(501, FOOT_CANDLES_PER_UMOL[LightSource.SUN]) == pytest.approx(100)


def test_the_words_that_are_stored_and_shown():
    assert [source.value for source in LightSource] == [
        "sun",
        "cool white fluorescent",
        "metal halide",
        "high pressure sodium",
    ]


def test_every_source_has_both_factors():
    assert set(LUX_PER_UMOL) == set(FOOT_CANDLES_PER_UMOL) == set(LightSource)


def test_bounds_of_a_meter():
    assert_bounds(lambda per: ppfd_of(100, per), "The meter's unit per umol", 1, 200)
    assert refusal(lambda: ppfd_of(-1, 54)) == (
        "The meter's reading is -1; give a value from 0 to 1,000,000."
    )
    assert "is 1,000,001;" in refusal(lambda: ppfd_of(1_000_001, 54))
    assert refusal(lambda: ppfd_of(1_000_000, 200)) == (
        "The light level is 5,000; give a value from 0 to 3,000 umol/m2/s."
    )
    assert ppfd_of(0, 54) == 0


@pytest.mark.parametrize(
    ("target", "lamp", "window", "expected"),
    [
        (11.52, 200, 0, 16),
        (11.52, 200, 4.32, 10),
        (11.52, 200, 11.52, 0),
        (11.52, 200, 20, 0),
        (17.28, 200, 0, 24),
        (17.3, 200, 0, None),
        (17.3, 200, 0.02, 24),
        (5, 0, 0, None),
        (5, 0, 5, 0),
    ],
)
def test_lamp_hours(target, lamp, window, expected):
    found = lamp_hours(target, lamp, window)
    assert found is None if expected is None else found == pytest.approx(expected)


def test_a_lamp_without_a_window_gives_all_the_light():
    assert lamp_hours(11.52, 200) == pytest.approx(16)


@given(st.floats(0, 60), st.floats(1, 1000), st.floats(0, 60))
def test_lamp_and_window_together_give_the_target(target, lamp, window):
    hours = lamp_hours(target, lamp, window)
    if hours is None:
        assert window + daily_light_integral(lamp, 24) < target
    else:
        total = window + daily_light_integral(lamp, hours)
        assert total == pytest.approx(max(target, window), abs=1e-9)


def test_bounds_of_a_target():
    unit = "mol/m2 a day"
    assert_bounds(lambda dli: lamp_hours(dli, 200), "The target", 0, 100, unit)
    assert_bounds(lambda dli: lamp_hours(9, 200, dli), "The light of the window", 0, 100, unit)
    assert "The light level is 3,001;" in refusal(lambda: lamp_hours(9, 3001))


def test_light_outdoors_from_solar_radiation():
    assert dli_of_radiation(20) == pytest.approx(41.2)
    assert_bounds(dli_of_radiation, "Solar radiation", 0, 50, "MJ/m2 a day")


def test_light_behind_a_window():
    assert window_dli(40, 0.25) == 10
    assert_bounds(
        lambda share: window_dli(40, share), "The share of light that a window lets through", 0, 1
    )
    assert_bounds(lambda dli: window_dli(dli, 0.5), "The light outdoors", 0, 100, "mol/m2 a day")
