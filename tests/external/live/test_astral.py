"""Moments of the sun beside astral asked directly, and day length beside its daylight."""

from datetime import UTC, date

import pytest
from astral import Observer
from astral import sun as astral_sun
from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.agronomy.sun import Polar, daylength, sunrise_sunset

DATES = st.dates(date(1990, 1, 1), date(2050, 12, 31))


@settings(deadline=None)
@given(st.floats(-60, 60), st.floats(-20, 20), DATES)
def test_same_moments(latitude, longitude, day):
    place = Observer(latitude, longitude)
    ours = sunrise_sunset(latitude, longitude, day, UTC)
    assert ours.sunrise == astral_sun.sunrise(place, day, UTC)
    assert ours.sunset == astral_sun.sunset(place, day, UTC)
    assert ours.polar is None


@settings(deadline=None)
@given(st.floats(66.9, 90), st.sampled_from([1, -1]), st.floats(-180, 180), DATES)
def test_polar_days_and_nights_are_told_apart(height, side, longitude, day):
    latitude = side * height
    ours = sunrise_sunset(latitude, longitude, day, UTC)
    if ours.polar is None:
        return
    noon = astral_sun.noon(Observer(latitude, longitude), day)
    elevation = astral_sun.elevation(Observer(latitude, longitude), noon, with_refraction=False)
    assert ours.polar is (Polar.NEVER_SETS if elevation > 0 else Polar.NEVER_RISES)


@settings(deadline=None)
@given(st.floats(-50, 50), DATES)
def test_day_length(latitude, day):
    rise, down = astral_sun.daylight(Observer(latitude, 0.0), day)
    hours = (down - rise).total_seconds() / 3600
    ours = float(daylength(latitude, day.timetuple().tm_yday))
    assert ours == pytest.approx(hours, abs=0.15)
