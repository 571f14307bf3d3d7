"""Worked examples of Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56.

Examples 3, 8, 9 and 20 as they stand in the tests of pyet and PyETo, which cite its pages;
examples 15 and 36 and the adjustment of p from memory of the paper; crop values of table 12, 11
and 22 as pyfao56 1.4.3 carries them.
"""

from datetime import date

import numpy as np
import pytest

from lifecycle.agronomy.evapotranspiration import (
    CropStages,
    crop_coefficient,
    depletion_fraction,
    hargreaves,
    mean_saturation_vapour_pressure,
    radiation_from_range,
    saturation_vapour_pressure,
)
from lifecycle.agronomy.soil_water import (
    BedSoil,
    SoilLayer,
    readily_available_water,
    stress_coefficient,
)
from lifecycle.agronomy.sun import (
    declination,
    extraterrestrial_radiation,
    geometric_daylength,
    inverse_relative_distance,
    sunset_hour_angle,
)
from lifecycle.agronomy.watering import next_watering
from lifecycle.handbook import CROPS

LYON, MID_JULY = 45 + 43 / 60, date(1998, 7, 15).timetuple().tm_yday


def test_example_3_vapour_pressure():
    assert saturation_vapour_pressure([15, 24.5]) == pytest.approx([1.705, 3.075], abs=5e-4)
    assert mean_saturation_vapour_pressure(15, 24.5) == pytest.approx(2.39, abs=0.005)


def test_example_8_extraterrestrial_radiation():
    assert inverse_relative_distance(246) == pytest.approx(0.985, abs=5e-4)
    assert declination(246) == pytest.approx(0.120, abs=5e-4)
    assert sunset_hour_angle(-20, 246) == pytest.approx(1.527, abs=5e-4)
    assert extraterrestrial_radiation(-20, 246) == pytest.approx(32.2, abs=0.05)


def test_example_9_daylight_hours():
    assert geometric_daylength(-20, 246) == pytest.approx(11.7, abs=0.05)


def test_example_15_radiation_from_the_daily_range():
    # From memory of the paper.
    radiation = extraterrestrial_radiation(LYON, MID_JULY)
    assert radiation == pytest.approx(40.6, abs=0.05)
    assert radiation_from_range(14.8, 26.6, radiation) == pytest.approx(22.3, abs=0.05)


def test_example_20_hargreaves():
    radiation = extraterrestrial_radiation(LYON, MID_JULY)
    assert hargreaves(14.8, 26.6, radiation) == pytest.approx(5.0, abs=0.05)
    assert saturation_vapour_pressure(14.8) == pytest.approx(1.68, abs=0.005)


def test_no_sun_reaches_80_north_in_december():
    # Computed independently with pyet: 0.
    assert extraterrestrial_radiation(80, 355) == 0


def test_a_maximum_below_the_minimum_gives_no_evapotranspiration():
    with pytest.raises(ValueError, match="below the minimum"):
        hargreaves(26.6, 14.8, 40.6)
    assert hargreaves(14.8, 14.8, 40.6) == 0


@pytest.mark.parametrize(
    ("rooting_m", "p", "available", "readily"),
    [(0.4, 0.30, 36, 11), (0.8, 0.40, 72, 29), (1.2, 0.55, 108, 59)],
)
def test_example_36_onion_tomato_and_maize_on_loamy_sand(rooting_m, p, available, readily):
    # From memory of the paper.
    soil = BedSoil((SoilLayer(2000, 0.15, 0.06),))
    water = soil.available_water(1000 * rooting_m)
    assert water == pytest.approx(available, abs=0.05)
    assert readily_available_water(water, p) == pytest.approx(readily, abs=0.5)


def test_readily_available_water_and_stress_of_the_tomato():
    # 28.8 mm from memory and computed independently; Ks at 50 mm by equation 84.
    assert readily_available_water(72, 0.4) == pytest.approx(28.8, abs=0.05)
    assert stress_coefficient(50, 72, 0.4) == pytest.approx(0.5093, abs=5e-5)


SWEET_PEPPER = CropStages(30, 35, 40, 20, 0.60, 1.05, 0.90)


def test_coefficient_of_sweet_pepper_by_its_125_day_season():
    days = np.array([0, 30, 65, 105, 125])
    assert crop_coefficient(SWEET_PEPPER, days) == pytest.approx([0.60, 0.60, 1.05, 1.05, 0.90])


def test_p_of_sweet_pepper_on_a_day_of_7_mm():
    assert depletion_fraction(0.30, 5) == pytest.approx(0.30)
    assert depletion_fraction(0.30, 7) == pytest.approx(0.22)


def test_p_as_pyfao56_ran_it():
    # Computed with pyfao56 1.4.3: TAW 30.0 mm, ETc 0.75 mm, RAW 14.1 mm.
    bed = BedSoil((SoilLayer(200, 0.29, 0.14),))
    assert bed.available_water(1000) == pytest.approx(30.0, abs=0.05)
    share = depletion_fraction(0.30, 0.75)
    assert readily_available_water(30.0, share) == pytest.approx(14.1, abs=0.05)


def test_a_pepper_bed_over_wire_wants_water_sooner():
    # Derived from the formulas above: six inches of soil hold 22.9 mm, p 0.22 of it is 5.0 mm.
    deep = BedSoil((SoilLayer(600, 0.29, 0.14),))
    shallow = BedSoil(deep.layers, barrier_mm=152.4)
    days = [
        next_watering(0, soil.available_water(500), 0.22, [4.0] * 10).day
        for soil in (deep, shallow)
    ]
    assert days == [4, 1]


def test_the_handbooks_pepper_is_sweet_pepper_of_the_tables():
    pepper = CROPS["annuum"]

    def values(*names):
        return [pepper.fact(name).si for name in names]

    assert values("kc_ini", "kc_mid", "kc_end") == [0.60, 1.05, 0.90]
    assert values("stage_ini", "stage_dev", "stage_mid", "stage_late") == [30, 35, 40, 20]
    depth = pepper.fact("root_depth")
    assert (depth.si, depth.si_high) == (50, 100)
    assert depletion_fraction(pepper.fact("depletion").si, 7) == pytest.approx(0.22)
