"""Our answers beside xclim's, computed in the same run."""

import against_xclim
import numpy as np
import pytest
import xclim_answers

from lifecycle.agronomy.daily_record import DailyRecord


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
