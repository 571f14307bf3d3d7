"""A year's degree-days of two station records, computed independently with numpy and pandas.

Seattle 2015 over base 10 C also with xclim 0.62.0, which gave the same.
"""

import installed_records
import numpy as np
import pytest

from lifecycle.agronomy.daily_record import fahrenheit
from lifecycle.agronomy.heat_units import Method, accumulated, heat_units
from lifecycle.agronomy.record_reader import read_daily_record


@pytest.fixture(scope="module")
def seattle():
    record = read_daily_record(installed_records.seattle_csv(), units="C", latitude=47.6)
    return record.between(2015, 2015)


@pytest.fixture(scope="module")
def lincoln():
    return read_daily_record(installed_records.lincoln_csv())


def total_f(record, method, ceiling=None):
    low, high = fahrenheit(record.tmin_c), fahrenheit(record.tmax_c)
    return accumulated(heat_units(low, high, method, 50, ceiling))[-1]


def test_seattle_over_10_c(seattle):
    units = heat_units(seattle.tmin_c, seattle.tmax_c, Method.AVERAGE, 10)
    assert units.size == 365
    assert accumulated(units)[-1] == pytest.approx(1541.05, abs=0.01)


@pytest.mark.parametrize(
    ("method", "ceiling", "expected"),
    [
        (Method.AVERAGE, None, 2773.89),
        (Method.MODIFIED, 86, 3001.5),
        (Method.SINGLE_SINE, 86, 2892.49),
    ],
)
def test_seattle_over_50_f(seattle, method, ceiling, expected):
    assert total_f(seattle, method, ceiling) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("method", "ceiling", "expected"),
    [
        (Method.AVERAGE, None, 3838.5),
        (Method.MODIFIED, 86, 4140.5),
        (Method.SINGLE_SINE, None, 4051.25),
        (Method.SINGLE_SINE, 86, 3994.06),
    ],
)
def test_lincoln_over_50_f_with_its_missing_day_skipped(lincoln, method, ceiling, expected):
    assert np.isnan(lincoln.tmin_c).sum() == 1
    assert total_f(lincoln, method, ceiling) == pytest.approx(expected, abs=0.005)
