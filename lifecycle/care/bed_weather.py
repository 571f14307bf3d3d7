"""The weather a bed's water is reckoned by: as members read it, else by the site's means."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.evapotranspiration import hargreaves
from lifecycle.agronomy.soil_water import effective_rain
from lifecycle.agronomy.sun import extraterrestrial_radiation
from lifecycle.handbook import fact

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """A day at the site's own gauge and thermometer; None where nobody read."""

    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SiteAir:
    """Where a bed lies, and the mean lows and highs in C of the 365 days there, if known."""

    latitude: float
    lows_c: Sequence[float | None] | None = None
    highs_c: Sequence[float | None] | None = None


def reference(days: Sequence[date], readings: Mapping[date, Reading], air: SiteAir) -> Floats:
    """Return ET0 in mm of each day: as read, else by the site's means; NaN where neither is."""
    lows, highs = np.full(len(days), np.nan), np.full(len(days), np.nan)
    for n, day in enumerate(days):
        low, high = _extremes(day, readings.get(day), air)
        if low is not None and high is not None and high >= low:
            lows[n], highs[n] = low, high
    energy = extraterrestrial_radiation(
        air.latitude, np.array([day.timetuple().tm_yday for day in days])
    )
    return hargreaves(lows, highs, energy)


def _extremes(
    day: date, reading: Reading | None, air: SiteAir
) -> tuple[float | None, float | None]:
    if reading is not None and reading.tmin_c is not None and reading.tmax_c is not None:
        return reading.tmin_c, reading.tmax_c
    if air.lows_c is None or air.highs_c is None:
        return None, None
    # 29 February follows the 28th: the curves have 365 days.
    common = date(2001, day.month, min(day.day, 28) if day.month == 2 else day.day)
    index = common.timetuple().tm_yday - 1
    return air.lows_c[index], air.highs_c[index]


def rain(
    days: Sequence[date], readings: Mapping[date, Reading], etc: Floats, et0: Floats
) -> Floats:
    """Return the rain that reaches the roots; a day nobody read brought none."""
    read = [readings[day].rain_mm or 0.0 if day in readings else 0.0 for day in days]
    return effective_rain(read, np.where(np.isnan(et0), etc, et0))


def said_of_weather(
    past: Sequence[date], readings: Mapping[date, Reading], et0: Floats
) -> list[str]:
    """Return what was assumed of the days so far and of those to come, in sentences."""
    said = []
    dry = days_without_rain(past, readings)
    if dry:
        said.append(f"{_days(dry)} of {len(past)} without a rain reading count as dry.")
    unread = sum(
        day not in readings or readings[day].tmin_c is None or readings[day].tmax_c is None
        for day in past
    )
    if np.isnan(et0).any():
        said.append(
            f"Highs of the site are not known: about {{{fact('water.weekly').si:.1f} mm}} a week "
            "is taken where nobody read the thermometer."
        )
    elif unread:
        said.append(f"{_days(unread)} without a low and a high follow the site's mean.")
    said.append("The days ahead follow the site's mean and bring no rain.")
    return said


def days_without_rain(past: Sequence[date], readings: Mapping[date, Reading]) -> int:
    """Return how many of these days have no rain reading."""
    return sum(day not in readings or readings[day].rain_mm is None for day in past)


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"
