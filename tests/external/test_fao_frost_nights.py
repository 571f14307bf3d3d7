"""The example nights of Snyder & de Melo-Abreu, Frost Protection, FAO 2005, ch. 5.

Data and answers as the documentation of the R package frost prints them, which cites the chapter
and its spreadsheet. Slopes, r2 and RMSE were also computed independently.
"""

import numpy as np
import pytest

from lifecycle.agronomy.frost_night import dew_point, fit_frost_formula, night_trend

T0 = [3.2, 0.8, 0.2, 2.6, 4.4, 5.2, 2.7, 1.2, 4.5, 5.6]
DEW = [-4.2, -8.8, -6.5, -6.2, -6.1, 2.6, -0.7, -1.7, -1.2, 0.1]
MINIMA = [-3.1, -5.0, -6.3, -5.4, -4.0, -2.5, -4.8, -5.0, -4.4, -3.3]


def test_two_step_formula():
    found = fit_frost_formula(T0, DEW, MINIMA)
    assert found.predict(10, 2) == pytest.approx(-0.7409219, abs=1e-6)
    assert found.by_temperature == pytest.approx(0.50281, abs=5e-6)
    assert found.by_dew_point == pytest.approx(0.02647, abs=5e-6)
    assert found.constant == pytest.approx(-5.82199, abs=5e-6)
    assert found.temperature_constant == pytest.approx(-5.90855, abs=5e-6)
    assert found.rmse == pytest.approx(0.63, abs=0.005)
    spread = float(np.var(MINIMA))
    assert 1 - found.rmse**2 / spread == pytest.approx(0.672, abs=5e-4)


def test_it_is_not_a_multiple_regression():
    # Which gives 0.4473, 0.0451 and -5.5924.
    columns = np.column_stack((T0, DEW, np.ones(10)))
    slope = np.linalg.lstsq(columns, np.array(MINIMA), rcond=None)[0]
    assert slope == pytest.approx([0.4473, 0.0451, -5.5924], abs=5e-5)
    assert abs(fit_frost_formula(T0, DEW, MINIMA).by_temperature - slope[0]) > 0.05


def test_course_of_the_night():
    # 33.7 F two hours after sunset, 22.2 F at sunrise, a night of 15 hours (UC Davis FP002).
    course = night_trend(33.7, 22.2, 15, [3, 4, 5, 9, 15])
    expected = [30.51047, 29.18933, 28.17558, 25.26131, 22.2]
    assert course == pytest.approx(expected, abs=1e-5)
    assert float(night_trend(0.95, -5.45, 15, 3)) == pytest.approx(-0.82504, abs=1e-5)


def test_dew_point():
    # FAO-56's constants 15.048, computed independently; those of Alduchov & Eskridge 15.049.
    assert dew_point(25, 54) == pytest.approx(15.048, abs=5e-4)
    assert dew_point(25, 54) == pytest.approx(15.04884, abs=2e-3)
