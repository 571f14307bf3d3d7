"""The minimum ahead of a frost night, its course, dew point, and calm clear nights."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds, refusal

from lifecycle.agronomy.frost_night import (
    FrostFormula,
    dew_point,
    fit_frost_formula,
    is_radiation_night,
    night_trend,
)

EVENINGS = [3.2, 0.8, 0.2, 2.6, 4.4, 5.2, 2.7, 1.2, 4.5, 5.6]
DEW = [-4.2, -8.8, -6.5, -6.2, -6.1, 2.6, -0.7, -1.7, -1.2, 0.1]
MINIMA = [-3.1, -5.0, -6.3, -5.4, -4.0, -2.5, -4.8, -5.0, -4.4, -3.3]


def test_a_formula_that_the_nights_obey():
    # Dew points that do not go with the evenings leave both steps their exact slope.
    evening = np.tile([0.0, 2.0, 4.0, 6.0], 3)
    dew = np.repeat([-6.0, -3.0, 0.0], 4)
    found = fit_frost_formula(evening, dew, 0.5 * evening + 0.2 * dew - 5)
    assert (found.by_temperature, found.by_dew_point, found.constant) == pytest.approx(
        (0.5, 0.2, -5)
    )
    # Without the dew point, its mean of -3 stands in.
    assert found.temperature_constant == pytest.approx(-5.6)
    assert found.rmse == pytest.approx(0, abs=1e-9)
    assert found.nights == 12


def test_predictions():
    formula = FrostFormula(0.5, 0.1, -6.0, -6.5, 0.6, 10)
    assert formula.predict(4, -10) == -5
    assert formula.predict(4) == -4.5
    assert_bounds(formula.predict, "The evening temperature", -95, 60, "C")
    assert_bounds(lambda x: formula.predict(4, x), "The dew point", -95, 60, "C")


def test_spread_of_a_formula():
    found = fit_frost_formula(EVENINGS, DEW, MINIMA)
    left = [tn - found.predict(t0, td) for t0, td, tn in zip(EVENINGS, DEW, MINIMA, strict=True)]
    assert found.rmse == pytest.approx(np.sqrt(np.mean(np.square(left))))
    assert sum(left) == pytest.approx(0, abs=1e-9)


def test_what_a_formula_refuses():
    assert refusal(lambda: fit_frost_formula(EVENINGS[:9], DEW[:9], MINIMA[:9])) == (
        "A frost formula needs 10 radiation-frost nights and there are 9; give more."
    )
    told = "There are 10 evening temperatures, 9 dew points and 10 minima; give one of each for "
    assert refusal(lambda: fit_frost_formula(EVENINGS, DEW[:9], MINIMA)) == told + "every night."
    assert "9 minima" in refusal(lambda: fit_frost_formula(EVENINGS, DEW, MINIMA[:9]))
    assert "give one of each" in refusal(lambda: fit_frost_formula([EVENINGS], [DEW], [MINIMA]))
    assert refusal(lambda: fit_frost_formula([3.3] * 10, DEW, MINIMA)) == (
        "The evening temperature is the same on every night; give nights that differ."
    )
    assert "The dew point is the same" in refusal(
        lambda: fit_frost_formula(EVENINGS, [3.3] * 10, MINIMA)
    )
    # Evenings whose squares about their mean add to a millionth do not differ.
    assert "is the same" in refusal(lambda: fit_frost_formula([3.3] * 9 + [3.301], DEW, MINIMA))
    assert fit_frost_formula([3.3] * 9 + [3.30106], DEW, MINIMA).nights == 10


@pytest.mark.parametrize(
    ("at", "what"), list(enumerate(("An evening temperature", "A dew point", "A minimum")))
)
def test_nights_that_no_air_had(at, what):
    def fit(wrong):
        nights = [list(EVENINGS), list(DEW), list(MINIMA)]
        nights[at][3] = wrong
        return fit_frost_formula(*nights)

    assert_bounds(fit, what, -95, 60, "C")


def test_course_of_a_night():
    # A quarter of the time has passed half of the fall.
    assert night_trend(8, -2, 14, [2, 5, 14]).tolist() == pytest.approx([8, 3, -2])
    assert float(night_trend(8, -2, 3, 3)) == -2
    assert_bounds(
        lambda x: night_trend(8, -2, 14, x), "An hour of the night", 2, 14, "hours after sunset"
    )
    assert_bounds(lambda x: night_trend(8, -2, x, 2), "The length of the night", 3, 24, "hours")
    assert_bounds(lambda x: night_trend(x, 0, 9, 2), "The evening temperature", -95, 60, "C")
    assert_bounds(lambda x: night_trend(0, x, 9, 2), "The minimum", -95, 60, "C")


@given(st.floats(-10, 15), st.floats(0.5, 20), st.floats(4, 20))
def test_a_night_only_cools(evening, fall, length):
    course = night_trend(evening, evening - fall, length, np.linspace(2, length, 12))
    assert np.all(np.diff(course) < 0)


def test_dew_point():
    assert dew_point(25, 54) == pytest.approx(15.048, abs=5e-4)
    assert dew_point(-3, 100) == pytest.approx(-3)
    assert_bounds(lambda x: dew_point(20, x), "Relative humidity", 1, 100, "percent")
    assert_bounds(lambda x: dew_point(x, 50), "The air temperature", -95, 60, "C")


@given(st.floats(-40, 50), st.floats(1, 99))
def test_dew_point_rises_with_humidity(air, humidity):
    assert dew_point(air, humidity) < dew_point(air, humidity + 1) <= air + 1e-9


@pytest.mark.parametrize(
    ("wind", "cloud", "expected"),
    [(1.99, 29.9, True), (2, 29.9, False), (1.99, 30, False), (0, 0, True), (5, 100, False)],
)
def test_radiation_nights(wind, cloud, expected):
    assert is_radiation_night(wind, cloud) is expected


def test_weather_that_cannot_be():
    assert_bounds(lambda x: is_radiation_night(x, 0), "The wind", 0, 120, "m/s")
    assert_bounds(lambda x: is_radiation_night(0, x), "Cloud cover", 0, 100, "percent")
