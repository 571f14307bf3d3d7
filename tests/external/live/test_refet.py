"""Radiation above the air beside refet's, computed in the same run.

refet writes the solar constant as 4.92 MJ per square metre and hour, FAO-56 as 0.0820 a minute,
which is the same.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from refet import calcs

from lifecycle.agronomy.evapotranspiration import saturation_vapour_pressure
from lifecycle.agronomy.sun import (
    declination,
    extraterrestrial_radiation,
    inverse_relative_distance,
    sunset_hour_angle,
)

LATITUDES = st.floats(-89.9, 89.9)
DAYS = st.integers(1, 366)


@settings(deadline=None)
@given(LATITUDES, DAYS)
def test_extraterrestrial_radiation(latitude, day):
    theirs = calcs._ra_daily(math.radians(latitude), day, method="asce")
    assert extraterrestrial_radiation(latitude, day) == pytest.approx(float(theirs), abs=1e-9)


@settings(deadline=None)
@given(LATITUDES, DAYS)
def test_its_parts(latitude, day):
    delta = calcs._delta(day, method="asce")
    angle = calcs._omega_sunset(math.radians(latitude), delta)
    assert declination(day) == pytest.approx(delta, abs=1e-12)
    assert inverse_relative_distance(day) == pytest.approx(calcs._dr(day), abs=1e-12)
    assert sunset_hour_angle(latitude, day) == pytest.approx(angle, abs=1e-9)


@settings(deadline=None)
@given(st.floats(-40, 50))
def test_saturation_vapour_pressure(degrees):
    theirs = float(calcs._sat_vapor_pressure(degrees)[0])
    assert saturation_vapour_pressure(degrees) == pytest.approx(theirs, rel=1e-12)
