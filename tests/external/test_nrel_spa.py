"""Sunrise, sunset and day length beside NREL's solar position algorithm (Reda & Andreas).

Golden, Colorado, 17 October 2003 is the report's test case, its moments from memory and
reproduced with pvlib 0.16.1; the day lengths were computed with pvlib 0.16.1.
"""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from lifecycle.agronomy.sun import daylength, sunrise_sunset

GOLDEN = (39.742476, -105.1786)
STANDARD_TIME = timezone(timedelta(hours=-7))
A_MINUTE = timedelta(minutes=1)


def test_golden():
    # The algorithm's day is that of Greenwich: the sunset it prints for the 17th, 17:20:19 local
    # standard time, lies at 00:20:19 UTC of the 17th, the local evening of the 16th.
    sun = sunrise_sunset(*GOLDEN, date(2003, 10, 17), UTC)
    sunrise = datetime(2003, 10, 17, 6, 12, 43, tzinfo=STANDARD_TIME)
    sunset = datetime(2003, 10, 16, 17, 20, 19, tzinfo=STANDARD_TIME)
    assert abs(sun.sunrise - sunrise) < A_MINUTE
    assert abs(sun.sunset - sunset) < A_MINUTE


def test_golden_by_its_own_day():
    # pvlib 0.16.1, spa_python: at 17:18:51 on the 17th the sun stands at -0.8335 degrees.
    sun = sunrise_sunset(*GOLDEN, date(2003, 10, 17), STANDARD_TIME)
    sunset = datetime(2003, 10, 17, 17, 18, 51, tzinfo=STANDARD_TIME)
    assert abs(sun.sunset - sunset) < A_MINUTE
    assert sun.sunrise.date() == sun.sunset.date()


@pytest.mark.parametrize(
    ("latitude", "day", "hours"),
    [
        (41, date(2023, 6, 21), 15.13),
        (41, date(2023, 12, 21), 9.22),
        (26, date(2023, 6, 21), 13.768),
        (26, date(2023, 12, 21), 10.514),
    ],
)
def test_day_length(latitude, day, hours):
    assert daylength(latitude, day.timetuple().tm_yday) == pytest.approx(hours, abs=0.03)
