"""A year's heat units beside xclim's growing_degree_days, computed in the same run."""

import numpy as np
import pytest
import xarray
import xclim_answers
from hypothesis import given, settings
from hypothesis import strategies as st
from xclim import indices

from lifecycle.agronomy.heat_units import Method, accumulated, heat_units


def by_year(dates, low, high, base):
    """xclim's degree-days over `base` (degrees C), by year, of the mean of minimum and maximum."""
    mean = xarray.DataArray(
        (low + high) / 2,
        dims="time",
        coords={"time": dates.astype("datetime64[ns]")},
        attrs={"units": "degC"},
    )
    return indices.growing_degree_days(mean, thresh=f"{base:.12f} degC", freq="YS").values


@pytest.mark.parametrize("name", ["champion", "brussels", "cordoba", "tunis"])
@pytest.mark.parametrize("base", [10, 18.3])
def test_every_year_of_a_station(name, base):
    record = xclim_answers.record(name)
    units = heat_units(record.tmin_c, record.tmax_c, Method.AVERAGE, base)
    years = record.dates.astype("datetime64[Y]").astype(int)
    ours = np.bincount(years - years[0], weights=units)
    theirs = by_year(record.dates, record.tmin_c, record.tmax_c, base)
    assert ours == pytest.approx(theirs, abs=1e-6)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(-30, 40), st.floats(0, 25)), min_size=3, max_size=30),
    st.floats(0, 20),
)
def test_any_days(days, base):
    low = np.array([day[0] for day in days])
    high = low + np.array([day[1] for day in days])
    dates = np.datetime64("2023-03-01") + np.arange(low.size)
    ours = accumulated(heat_units(low, high, Method.AVERAGE, base))[-1]
    assert ours == pytest.approx(by_year(dates, low, high, base)[0], abs=1e-6)
