"""Sunrise, sunset and day length beside pvlib's, by NREL's algorithm, computed in the same run.

pvlib gives sunrise and sunset for the days of Greenwich, and for a western evening the sunset of
the day before, so its positions are asked instead: within a minute of our moments the sun's centre
must pass -0.8333 degrees.
"""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pvlib import solarposition

from lifecycle.agronomy.sun import daylength, sunrise_sunset

HORIZON = -0.8333
A_MINUTE = timedelta(seconds=60)


def zone_by_longitude(longitude):
    hours = round(longitude / 15)
    return ZoneInfo(f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT")


def heights(moments, latitude, longitude):
    return solarposition.spa_python(pd.DatetimeIndex(moments), latitude, longitude)["elevation"]


def hours_of_day(latitude, day):
    """pvlib's day length at Greenwich, where its days are the local ones."""
    noon = pd.DatetimeIndex([f"{day} 12:00"], tz="UTC")
    times = solarposition.sun_rise_set_transit_spa(noon, latitude, 0.0)
    return (times["sunset"] - times["sunrise"]).iloc[0].total_seconds() / 3600


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-60, 60),
    st.floats(-180, 180),
    st.dates(date(1990, 1, 1), date(2050, 12, 31)),
)
@example(-38.13986, 88.99291, date(2029, 9, 19))  # sunrise at midnight in Greenwich
def test_the_sun_passes_the_horizon_within_a_minute(latitude, longitude, day):
    zone = zone_by_longitude(longitude)
    sun = sunrise_sunset(latitude, longitude, day, zone)
    assert sun.sunrise.date() == day
    around = [sun.sunrise - A_MINUTE, sun.sunrise + A_MINUTE]
    around += [sun.sunset - A_MINUTE, sun.sunset + A_MINUTE]
    night, morning, evening, dark = heights(around, latitude, longitude)
    assert night < HORIZON < morning
    assert evening > HORIZON > dark


@settings(max_examples=60, deadline=None)
@given(st.floats(-55, 55), st.dates(date(1990, 1, 1), date(2050, 12, 31)))
def test_day_length(latitude, day):
    theirs = hours_of_day(latitude, day)
    # By the day's number alone, a day's change (0.09 h at 55 degrees) may be off.
    ours = float(daylength(latitude, day.timetuple().tm_yday))
    assert ours == pytest.approx(theirs, abs=0.15)


def test_2023_at_41_north():
    for day, expected in ((date(2023, 6, 21), 15.128), (date(2023, 12, 21), 9.224)):
        theirs = hours_of_day(41, day)
        assert theirs == pytest.approx(expected, abs=0.005)
        assert float(daylength(41, day.timetuple().tm_yday)) == pytest.approx(theirs, abs=0.03)
