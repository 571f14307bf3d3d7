"""The sun's place, day length and moments, from pole to pole."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import assert_bounds

from lifecycle.agronomy.sun import (
    Polar,
    daylength,
    declination,
    extraterrestrial_radiation,
    geometric_daylength,
    inverse_relative_distance,
    sunrise_sunset,
    sunset_hour_angle,
)

LATITUDES = st.floats(-90, 90)
DAYS = st.integers(1, 366)
TROMSO = (69.65, 18.96)
OSLO_TIME = ZoneInfo("Europe/Oslo")


def test_declination_turns_with_the_year():
    # 0.409 rad at its highest, where 2 pi J / 365 - 1.39 is a quarter turn.
    top = 365 / (2 * np.pi) * (np.pi / 2 + 1.39)
    assert declination(top) == pytest.approx(0.409)
    assert declination(top - 365 / 4) == pytest.approx(0, abs=1e-12)
    assert declination(365) == pytest.approx(0.409 * np.sin(-1.39))


def test_the_earth_is_nearest_at_the_turn_of_the_year():
    assert inverse_relative_distance(365) == pytest.approx(1.033)
    assert inverse_relative_distance(365 / 2) == pytest.approx(0.967)
    assert inverse_relative_distance(365 / 4) == pytest.approx(1)


def test_at_the_equator_every_day_is_half_a_day():
    assert sunset_hour_angle(0, [1, 100, 200]) == pytest.approx(np.pi / 2)
    assert geometric_daylength(0, 80) == pytest.approx(12)
    # Refraction and the disc: twice 0.8333 degrees at 15 degrees an hour.
    assert daylength(0, 80) == pytest.approx(12 + 2 * 0.8333 / 15, abs=2e-4)


def test_the_longest_and_the_shortest_day():
    # The formula worked out apart from the code, at 41 north.
    assert daylength(41, 172) == pytest.approx(15.12725, abs=1e-4)
    assert daylength(41, 355) == pytest.approx(9.22005, abs=1e-4)
    days = daylength(41, np.arange(1, 366))
    assert int(days.argmax()) + 1 == 173


def test_radiation_at_the_equator():
    # Hour angle pi/2: Ra = (24 * 60 / pi) * 0.0820 * dr * cos(declination).
    expected = 1440 / np.pi * 0.0820 * inverse_relative_distance(100) * np.cos(declination(100))
    assert extraterrestrial_radiation(0, 100) == pytest.approx(expected)


def test_many_days_are_each_one_day():
    days = [1, 100, 200]
    for of in (extraterrestrial_radiation, geometric_daylength, daylength):
        assert of(45, days).tolist() == [float(of(45, day)) for day in days]


def test_polar_day_and_night():
    assert sunset_hour_angle(80, [172, 355]).tolist() == [np.pi, 0]
    assert geometric_daylength(80, [172, 355]).tolist() == [24, 0]
    assert daylength(80, [172, 355]).tolist() == [24, 0]
    assert daylength(-80, [172, 355]).tolist() == [0, 24]
    assert extraterrestrial_radiation(80, 355) == 0
    assert extraterrestrial_radiation(80, 172) > 40


@given(LATITUDES, DAYS)
def test_everything_stays_within_its_bounds(latitude, day):
    assert 0 <= extraterrestrial_radiation(latitude, day) < 50
    assert 0 <= geometric_daylength(latitude, day) <= 24
    assert 0 <= daylength(latitude, day) <= 24


@given(LATITUDES, DAYS)
def test_a_day_is_as_long_as_the_night_on_the_other_side(latitude, day):
    both = geometric_daylength(latitude, day) + geometric_daylength(-latitude, day)
    assert both == pytest.approx(24)


@given(st.floats(-50, 50))
def test_refraction_lengthens_the_day_by_minutes(latitude):
    days = np.arange(1, 366)
    gain = 60 * (daylength(latitude, days) - geometric_daylength(latitude, days))
    # Single days stray further: the two formulas' declinations differ by up to 0.4 degrees.
    assert 6 < gain.mean() < 18


@pytest.mark.parametrize(
    "of", [sunset_hour_angle, extraterrestrial_radiation, geometric_daylength, daylength]
)
def test_latitude_and_day_have_bounds(of):
    assert_bounds(lambda latitude: of(latitude, 100), "The latitude", -90, 90, "degrees")
    assert_bounds(lambda day: of(45, day), "The day of the year", 1, 366)


def test_sunrise_and_sunset_in_the_zone_asked_for():
    denver = ZoneInfo("America/Denver")
    sun = sunrise_sunset(39.742476, -105.1786, date(2003, 10, 17), denver)
    assert (sun.sunrise.tzinfo, sun.sunset.tzinfo, sun.polar) == (denver, denver, None)
    assert sun.sunrise.date() == sun.sunset.date() == date(2003, 10, 17)
    # Summer time: 6:13 standard time reads 7:13.
    assert (sun.sunrise.hour, sun.sunset.hour) == (7, 18)


# astral 3.2 finds no sunrise on these days, whose moment lies at midnight in Greenwich.
@pytest.mark.parametrize(
    ("latitude", "longitude", "day"),
    [
        (-38.13986, 88.99291, date(2029, 9, 19)),
        (45.32861, 82.5172, date(1998, 4, 8)),
        (-26.50327, 78.69296, date(2025, 10, 27)),
    ],
)
def test_a_sunrise_at_midnight_in_greenwich_lies_between_its_neighbours(latitude, longitude, day):
    zone = _zone_by_longitude(longitude)
    before, now, after = (
        sunrise_sunset(latitude, longitude, day + timedelta(days), zone).sunrise
        for days in (-1, 0, 1)
    )
    assert now.date() == day
    assert abs((now - (before + (after - before) / 2)).total_seconds()) < 10


def test_the_sun_never_sets_and_never_rises():
    summer = sunrise_sunset(*TROMSO, date(2023, 6, 21), OSLO_TIME)
    winter = sunrise_sunset(*TROMSO, date(2023, 12, 21), OSLO_TIME)
    assert (summer.sunrise, summer.sunset, summer.polar) == (None, None, Polar.NEVER_SETS)
    assert (winter.sunrise, winter.sunset, winter.polar) == (None, None, Polar.NEVER_RISES)
    assert summer.polar == "never sets"
    assert winter.polar == "never rises"
    southern = sunrise_sunset(-75, 0, date(2023, 6, 21), UTC)
    assert southern.polar is Polar.NEVER_RISES


def test_a_sun_that_rises_on_the_last_day_and_sets_past_midnight():
    sun = sunrise_sunset(*TROMSO, date(2023, 5, 17), OSLO_TIME)
    assert sun.sunrise is not None
    assert (sun.sunset, sun.polar) == (None, None)


@given(
    st.floats(-50, 50),
    st.floats(-180, 180),
    st.dates(date(1990, 1, 1), date(2050, 12, 31)),
)
def test_from_sunrise_to_sunset_is_the_day_length(latitude, longitude, day):
    zone = _zone_by_longitude(longitude)
    sun = sunrise_sunset(latitude, longitude, day, zone)
    hours = (sun.sunset - sun.sunrise).total_seconds() / 3600
    # The one knows only the day's number: up to a day off in the leap cycle.
    assert hours == pytest.approx(float(daylength(latitude, day.timetuple().tm_yday)), abs=0.2)


def _zone_by_longitude(longitude):
    # Etc zones carry the opposite sign: Etc/GMT+7 is seven hours west.
    hours = round(longitude / 15)
    return ZoneInfo(f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT")


def test_latitude_and_longitude_of_a_moment_have_bounds():
    day = date(2023, 3, 20)
    assert_bounds(
        lambda latitude: sunrise_sunset(latitude, 0, day, UTC), "The latitude", -90, 90, "degrees"
    )
    assert_bounds(
        lambda east: sunrise_sunset(0, east, day, UTC), "The longitude", -180, 180, "degrees"
    )


def test_moments_carry_their_zone():
    sun = sunrise_sunset(0, 0, date(2023, 3, 20), UTC)
    assert isinstance(sun.sunrise, datetime)
    assert sun.sunrise.utcoffset() == sun.sunset.utcoffset()
