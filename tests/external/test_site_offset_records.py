"""Suffolk on Cambridge, two daily records that ship with aquacrop, as a site and its station.

The numbers were computed independently with statsmodels and scipy. Both records look gridded.
"""

from datetime import date

import numpy as np
import pytest
from installed_records import aquacrop_csv

from lifecycle.agronomy.site_offset import OffsetMethod, fit_offset, frost_probability

FIRST, LAST = date(2019, 4, 1), date(2019, 5, 30)


def minima(name):
    rows = [line.split(",") for line in aquacrop_csv(name).decode().splitlines()[1:]]
    return {date.fromisoformat(row[0]): float(row[1]) for row in rows}


def paired(first, last):
    site, station = minima("suffolk"), minima("cambridge")
    days = [day for day in station if first <= day <= last]
    return np.array([site[day] for day in days]), np.array([station[day] for day in days])


@pytest.fixture(scope="module")
def spring():
    return fit_offset(*paired(FIRST, LAST), FIRST, LAST)


def test_sixty_spring_nights(spring):
    assert (spring.method, spring.nights) == (OffsetMethod.LINE, 60)
    assert spring.intercept == pytest.approx(3.06344, abs=5e-6)
    assert spring.slope == pytest.approx(0.71571, abs=5e-6)
    assert spring.residual_sd == pytest.approx(0.69788, abs=5e-6)
    assert spring.robust_slope == pytest.approx(0.72091, abs=5e-6)
    interval = spring.mean_interval()
    assert (interval.low + interval.high) / 2 == pytest.approx(1.6582, abs=5e-5)


def test_a_night_of_two_degrees_at_the_station(spring):
    night = spring.predict(2.0)
    assert night.expected_c == pytest.approx(4.49487, abs=1e-5)
    assert night.interval(0.9).low == pytest.approx(3.30969, abs=1e-5)
    assert night.interval(0.9).high == pytest.approx(5.68004, abs=1e-5)
    # The interval's lower end leaves 5 % below it.
    assert frost_probability(3.30969, night) == pytest.approx(0.05, abs=1e-5)


def test_the_first_weeks_alone_give_a_mean():
    last = date(2019, 4, 20)
    site, station = paired(FIRST, last)
    found = fit_offset(site, station, FIRST, last)
    assert found.method is OffsetMethod.MEAN
    assert found.intercept == pytest.approx(float(np.mean(site - station)))
    assert found.residual_sd == pytest.approx(float(np.std(site - station, ddof=1)))


def test_the_whole_record():
    first, last = date(1991, 1, 1), date(2021, 12, 31)
    site, station = paired(first, last)
    found = fit_offset(site, station, first, last)
    assert found.nights == 11_323
    assert found.intercept == pytest.approx(1.82055, abs=5e-6)
    assert found.slope == pytest.approx(0.94890, abs=5e-6)
    interval = found.mean_interval()
    assert (interval.low + interval.high) / 2 == pytest.approx(1.5072, abs=5e-5)
    assert found.robust_slope == pytest.approx(found.slope, abs=0.02)
