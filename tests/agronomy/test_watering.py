"""When a bed next wants water, and how much."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.soil_water import water_balance
from lifecycle.agronomy.watering import Watering, litres, next_watering


def test_the_day_depletion_reaches_what_is_readily_available():
    # RAW 20 of TAW 50: 5 + 4 * 4 = 21 at the end of the fourth day.
    assert next_watering(5, 50, 0.4, [4] * 7) == Watering(3, 21)


def test_reaching_the_limit_exactly_is_enough():
    assert next_watering(0, 50, 0.4, [5] * 7) == Watering(3, 20)
    assert next_watering(0.5, 50, 0.4, [5] * 7) == Watering(3, 20.5)
    assert next_watering(0, 50, 0.4, [4.99] * 4) is None


def test_tenths_that_fall_short_by_rounding_still_reach_it():
    # 8 times 0.1 comes out below 0.8.
    found = next_watering(0, 2, 0.4, [0.1] * 10)
    assert found.day == 7
    assert found.mm == pytest.approx(0.8)
    assert next_watering(0, 2, 0.4, [0.1 - 1e-8] * 8) is None


def test_a_dry_bed_wants_water_today_whatever_is_to_come():
    assert next_watering(20, 50, 0.4, [5], [40]) == Watering(0, 20)
    assert next_watering(19.9, 50, 0.4, [5], [40]) is None
    assert next_watering(30, 50, 0.4, []) == Watering(0, 30)


def test_expected_rain_puts_it_off():
    assert next_watering(5, 50, 0.4, [4] * 7, [0, 0, 10, 0, 0, 0, 0]) == Watering(6, 23)
    assert next_watering(5, 50, 0.4, [4] * 7, 4) is None


def test_nothing_within_the_days_expected():
    assert next_watering(0, 50, 0.4, [4] * 4) is None
    assert next_watering(0, 50, 0.4, []) is None


@given(
    st.floats(0, 50),
    st.lists(st.floats(0, 12), min_size=1, max_size=14),
    st.floats(0, 5),
)
def test_watering_so_keeps_the_crop_from_stress(depletion, etc, rain):
    found = next_watering(depletion, 50, 0.4, etc, rain)
    days = len(etc) if found is None else found.day
    before = water_balance(depletion, 50, 0.4, etc[:days], rain)
    assert (before.stress == 1).all()
    if found is not None:
        assert 20 - 1e-9 <= found.mm <= 50


def test_refuses_what_a_balance_refuses():
    assert "Rain is -1;" in refusal(lambda: next_watering(5, 50, 0.4, [4], [-1]))
    assert "is missing;" in refusal(lambda: next_watering(5, 50, 0.4, [float("nan")]))
    assert "can hold" in refusal(lambda: next_watering(51, 50, 0.4, [4]))


def test_litres_for_an_area():
    assert litres(12, 2.5) == 30
    assert_bounds(lambda mm: litres(mm, 1), "The depth of water", 0, 2000, "mm")
    assert_bounds(lambda area: litres(1, area), "The area", 0.01, 1_000_000, "m2")
