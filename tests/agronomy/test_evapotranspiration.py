"""Evapotranspiration and a crop's share of it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.evapotranspiration import (
    CropStages,
    Setting,
    crop_coefficient,
    crop_evapotranspiration,
    depletion_fraction,
    hargreaves,
    mean_saturation_vapour_pressure,
    radiation_from_range,
    saturation_vapour_pressure,
)

STAGES = CropStages(30, 40, 50, 20, 0.6, 1.1, 0.8)


def test_vapour_pressure_at_the_freezing_point():
    assert saturation_vapour_pressure(0) == pytest.approx(0.6108)


def test_mean_vapour_pressure_is_the_mean_of_the_extremes():
    both = saturation_vapour_pressure([5.0, 31.0])
    assert mean_saturation_vapour_pressure(5, 31) == pytest.approx(both.mean())
    assert mean_saturation_vapour_pressure(5, 31) > saturation_vapour_pressure(18)


def test_hargreaves_by_hand():
    # 0.0023 * (20 + 17.8) * sqrt(16) * 0.408 * 40
    assert hargreaves(12, 28, 40) == pytest.approx(0.0023 * 37.8 * 4 * 0.408 * 40)


def test_hargreaves_is_nothing_without_sun_range_or_warmth():
    assert hargreaves([12, 20, -30], [28, 20, -20], [0, 40, 40]).tolist() == [0, 0, 0]


def test_hargreaves_of_a_missing_value_is_missing():
    assert np.isnan(hargreaves([np.nan, 12], [28, np.nan], 40)).all()


def test_radiation_by_hand():
    assert radiation_from_range(12, 28, 40) == pytest.approx(0.16 * 4 * 40)
    assert radiation_from_range(12, 28, 40, Setting.COAST) == pytest.approx(0.19 * 4 * 40)


@pytest.mark.parametrize("of", [hargreaves, radiation_from_range])
def test_what_the_daily_range_formulas_refuse(of):
    assert "below the minimum" in refusal(lambda: of(20, 19.9, 40))
    assert_bounds(lambda ra: of(12, 28, ra), "Radiation above the air", 0, 50, "MJ/m2 a day")


@given(st.floats(-20, 40), st.floats(0, 25), st.floats(0, 45))
def test_hargreaves_never_gives_water_back(low, width, radiation):
    assert 0 <= hargreaves(low, low + width, radiation) < 20


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (0, 0.6),
        (30, 0.6),
        (31, 0.6 + 0.5 / 40),
        (50, 0.85),
        (70, 1.1),
        (71, 1.1),
        (120, 1.1),
        (121, 1.1 - 0.3 / 20),
        (130, 0.95),
        (140, 0.8),
        (500, 0.8),
    ],
)
def test_crop_coefficient_along_its_stages(day, expected):
    assert crop_coefficient(STAGES, day) == pytest.approx(expected)


def test_crop_coefficients_of_many_days():
    assert crop_coefficient(STAGES, [0, 50, 500]) == pytest.approx([0.6, 0.85, 0.8])


def test_days_before_planting_are_refused():
    assert refusal(lambda: crop_coefficient(STAGES, -1)) == (
        "The day since planting is -1; give a value from 0 to 100,000."
    )
    assert_bounds(lambda day: crop_coefficient(STAGES, day), "The day since planting", 0, 100_000)


@pytest.mark.parametrize("place", range(4))
def test_a_stage_has_days(place):
    def stages(days):
        lengths = [30, 40, 50, 20]
        lengths[place] = days
        return CropStages(*lengths, 0.6, 1.1, 0.8)

    assert_bounds(stages, "The length of a crop stage", 1, 366, "days")


@pytest.mark.parametrize("place", range(3))
def test_a_coefficient_has_bounds(place):
    def stages(kc):
        values = [0.6, 1.1, 0.8]
        values[place] = kc
        return CropStages(30, 40, 50, 20, *values)

    assert_bounds(stages, "A crop coefficient", 0, 2)


def test_a_crop_uses_its_share():
    assert crop_evapotranspiration([4, 5], [0.6, 1.1]) == pytest.approx([2.4, 5.5])
    assert np.isnan(crop_evapotranspiration(np.nan, 1))
    assert "is 30.1;" in refusal(lambda: crop_evapotranspiration(30.1, 1))
    assert refusal(lambda: crop_evapotranspiration(-1, 1)) == (
        "Reference evapotranspiration is -1; give a value from 0 to 30 mm a day."
    )
    assert refusal(lambda: crop_evapotranspiration(1, 2.1)) == (
        "A crop coefficient is 2.1; give a value from 0 to 2."
    )
    assert crop_evapotranspiration([0, 30], 2).tolist() == [0, 60]


@pytest.mark.parametrize(
    ("table", "etc", "expected"),
    [(0.3, 5, 0.3), (0.3, 7, 0.22), (0.3, 3, 0.38), (0.3, 10, 0.1), (0.3, 20, 0.1), (0.7, 0, 0.8)],
)
def test_depletion_fraction(table, etc, expected):
    assert depletion_fraction(table, etc) == pytest.approx(expected)


def test_depletion_fraction_refuses():
    assert_bounds(lambda p: depletion_fraction(p, 5), "The table value of p", 0.1, 0.8)
    assert refusal(lambda: depletion_fraction(0.3, 30.5)) == (
        "Crop evapotranspiration is 30.5; give a value from 0 to 30 mm a day."
    )
    assert "is -1;" in refusal(lambda: depletion_fraction(0.3, -1))
    assert np.isnan(depletion_fraction(0.3, np.nan))
