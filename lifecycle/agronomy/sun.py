"""Where the sun stands: radiation above the air, day length, and sunrise and sunset.

Latitudes are degrees, north positive; longitudes degrees, east positive; days are days of the
year, 1 to 366. FAO-56 is Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum

import numpy as np
from astral import Observer
from astral import sun as astral_sun
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import number_within, within

Floats = NDArray[np.float64]

_SOLAR_CONSTANT = 0.0820  # MJ per square metre and minute
_MINUTES_IN_DAY = 24 * 60
_MINUTES_A_DEGREE = 4
#: The sun's centre stands this far below the horizon when its upper edge seems to touch it.
_REFRACTION_AND_RADIUS = np.radians(0.8333)


def declination(day: ArrayLike) -> Floats:
    """Solar declination in radians (FAO-56 eq 24)."""
    return np.asarray(0.409 * np.sin(2 * np.pi / 365 * _days(day) - 1.39))


def inverse_relative_distance(day: ArrayLike) -> Floats:
    """Inverse relative distance from earth to sun, about 1 (FAO-56 eq 23)."""
    return np.asarray(1 + 0.033 * np.cos(2 * np.pi / 365 * _days(day)))


def sunset_hour_angle(latitude: float, day: ArrayLike) -> Floats:
    """Sunset hour angle in radians (FAO-56 eq 25): 0 in polar night, pi in polar day."""
    cosine = -np.tan(_radians(latitude)) * np.tan(declination(day))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def extraterrestrial_radiation(latitude: float, day: ArrayLike) -> Floats:
    """Daily radiation above the air, Ra, in MJ per square metre and day (FAO-56 eq 21)."""
    phi, delta = _radians(latitude), declination(day)
    angle = sunset_hour_angle(latitude, day)
    sun = angle * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(angle)
    scale = _MINUTES_IN_DAY / np.pi * _SOLAR_CONSTANT
    # Rounding may leave a hair below nothing at the edge of the polar night.
    return np.asarray(np.maximum(scale * inverse_relative_distance(day) * sun, 0.0))


def geometric_daylength(latitude: float, day: ArrayLike) -> Floats:
    """Day length N in hours as evapotranspiration uses it (FAO-56 eq 34).

    It knows no refraction and no disc of the sun: 8 to 20 minutes short below latitude 50. For
    light take `daylength`.
    """
    return np.asarray(24 / np.pi * sunset_hour_angle(latitude, day))


def daylength(latitude: float, day: ArrayLike) -> Floats:
    """Hours from sunrise to sunset, refraction and the sun's disc included; 0 to 24.

    Forsythe, Rykiel, Stahl, Wu & Schoolfield 1995, Ecological Modelling 80:87-95, constants from
    memory.
    """
    phi = _radians(latitude)
    orbit = 0.2163108 + 2 * np.arctan(0.9671396 * np.tan(0.00860 * (_days(day) - 186)))
    delta = np.arcsin(0.39795 * np.cos(orbit))
    height = np.sin(_REFRACTION_AND_RADIUS) + np.sin(phi) * np.sin(delta)
    cosine = np.clip(height / (np.cos(phi) * np.cos(delta)), -1.0, 1.0)
    return np.asarray(24 - 24 / np.pi * np.arccos(cosine))


class Polar(StrEnum):
    """Why a day has no sunrise and no sunset."""

    NEVER_SETS = "never sets"
    NEVER_RISES = "never rises"


@dataclass(frozen=True, slots=True)
class SunTimes:
    """Sunrise and sunset in the zone asked for; None where the day has none, `polar` says why.

    In the days around a polar day or night one of the two may be missing with `polar` None.
    """

    sunrise: datetime | None
    sunset: datetime | None
    polar: Polar | None = None


def sunrise_sunset(latitude: float, longitude: float, day: date, zone: tzinfo) -> SunTimes:
    """Sunrise and sunset of one local day at a level horizon, within a minute below latitude 60.

    ValueError when latitude or longitude cannot be.
    """
    number_within("The latitude", latitude, -90, 90, "degrees")
    number_within("The longitude", longitude, -180, 180, "degrees")
    rise = _moment(astral_sun.sunrise, latitude, longitude, day, zone)
    down = _moment(astral_sun.sunset, latitude, longitude, day, zone)
    polar = None
    if rise is None and down is None:
        long_day = daylength(latitude, day.timetuple().tm_yday) > 12
        polar = Polar.NEVER_SETS if long_day else Polar.NEVER_RISES
    return SunTimes(rise, down, polar)


def _moment(
    event: Callable[[Observer, date, tzinfo], datetime],
    latitude: float,
    longitude: float,
    day: date,
    zone: tzinfo,
) -> datetime | None:
    # astral 3.2 misses an eastern sunrise that slips past midnight at Greenwich from one day to the
    # next. Two degrees farther west it comes eight minutes later, and there astral finds it.
    for aside in (0, -2):
        try:
            moment = event(Observer(latitude, longitude + aside), day, zone)
        except ValueError:  # astral's way to say that there is none
            continue
        moment += timedelta(minutes=_MINUTES_A_DEGREE * aside)
        if moment.date() == day:
            return moment
    return None


def _days(day: ArrayLike) -> Floats:
    return within("The day of the year", day, 1, 366)


def _radians(latitude: float) -> float:
    return float(np.radians(number_within("The latitude", latitude, -90, 90, "degrees")))
