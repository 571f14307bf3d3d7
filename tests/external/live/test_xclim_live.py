"""Our answers beside xclim's, computed in the same run."""

import against_xclim
import numpy as np
import pytest
import xclim_answers

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.hardiness import half_zone_number, zone_estimate


@pytest.mark.parametrize("name", xclim_answers.RECORDS)
def test_same_answers(name):
    against_xclim.assert_same(xclim_answers.record(name), xclim_answers.answers(name))


def test_a_band_edge_given_in_celsius_falls_low_in_xclim_but_not_here():
    # Why xclim is fed degrees F above: -20 F given as degrees C comes out one half-zone low.
    days = np.arange("2000-01-01", "2004-01-01", dtype="datetime64[D]")
    cold = np.full(days.size, (-20.0 - 32) / 1.8)
    record = DailyRecord("made up", None, None, days, cold, cold + 10)
    assert against_xclim.own_zone_number(record, 4) == 8
    tmin = xclim_answers.minima(record, "degF")
    zones = xclim_answers.indices.hardiness_zones(tmin.round(6), window=4)
    assert float(zones.values[-1]) == 8


@pytest.mark.parametrize(
    ("name", "first", "last", "window", "number"),
    [
        ("champion", 1982, 2018, "calendar", 8),
        ("champion", 1991, 2018, "calendar", 8),
        ("tunis", 1979, 2001, "calendar", 18),
        ("hyderabad", 2000, 2010, "calendar", 20),
        ("hyderabad", 2000, 2010, "season", 21),
        ("cordoba", 1991, 2020, "calendar", 17),
    ],
)
def test_half_zone_numbers_by_period_and_window(name, first, last, window, number):
    record = xclim_answers.record(name).between(first, last)
    ours = zone_estimate(record, "south" if name == "cordoba" else "north", window)
    assert half_zone_number(ours.mean_extreme_min_f) == number
    tmin = xclim_answers.minima(record, "degF")
    if window == "season":
        tmin = tmin.sel(time=slice(f"{first}-07-01", f"{last}-06-30"))
    zones = xclim_answers.indices.hardiness_zones(
        tmin, window=ours.years, freq="YS" if window == "calendar" else "YS-JUL"
    )
    assert float(zones.values[-1]) == number
