"""Invented daily weather: a yearly cycle with persistent noise, the same for the same seed."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, TypeAlias

import numpy as np

Days: TypeAlias = "np.ndarray[tuple[int], np.dtype[np.float64]]"

PERSISTENCE = 0.72
YEARS = 30


@dataclass(frozen=True, slots=True)
class InventedClimate:
    """A yearly cycle of night lows in C, colder and more restless in winter.

    ``winter_low`` and ``summer_low`` are mean lows of the coldest and the warmest day;
    ``restless`` the spread of winter nights; ``day_range`` the mean rise to the maximum.
    """

    winter_low: float
    summer_low: float
    restless: float
    day_range: float
    southern: bool
    seed: int


def daily_csv(climate: InventedClimate, last_year: int) -> bytes:
    """Return ``YEARS`` years of ``date,tmin_c,tmax_c`` up to the end of ``last_year``.

    A few days are left blank, as in a real record.
    """
    first = date(last_year - YEARS + 1, 1, 1)
    count = (date(last_year + 1, 1, 1) - first).days
    rng = np.random.default_rng(climate.seed)
    cycle = np.cos(_turn(climate, first.timetuple().tm_yday + np.arange(count)))
    spread = climate.restless * (0.72 + 0.28 * cycle)
    low = _usual_low(climate, cycle) + spread * _persistent(rng, count)
    high = low + np.maximum(1.5, climate.day_range + 2.5 * rng.standard_normal(count))
    blank = rng.random(count) < 0.001
    rows = ["date,tmin_c,tmax_c"]
    for index in range(count):
        when = first + timedelta(days=index)
        rows.append(f"{when},," if blank[index] else f"{when},{low[index]:.1f},{high[index]:.1f}")
    return ("\n".join(rows) + "\n").encode()


def usual_day(climate: InventedClimate, day: date) -> tuple[float, float]:
    """Return the mean low and high in C of a day of the year."""
    cycle = np.cos(_turn(climate, np.array([day.timetuple().tm_yday])))
    low = float(_usual_low(climate, cycle)[0])
    return low, low + climate.day_range


def _turn(climate: InventedClimate, day_of_year: "np.ndarray[tuple[int], Any]") -> Days:
    """Return how far the year has turned since its coldest day, in radians."""
    coldest = 20 + (182 if climate.southern else 0)
    return (day_of_year - coldest) * 2 * np.pi / 365.2425


def _usual_low(climate: InventedClimate, cycle: Days) -> Days:
    middle = (climate.winter_low + climate.summer_low) / 2
    return middle - (climate.summer_low - climate.winter_low) / 2 * cycle


def _persistent(rng: np.random.Generator, count: int) -> Days:
    """Return noise of unit spread in which a cold day tends to follow a cold day."""
    shocks = rng.standard_normal(count) * np.sqrt(1 - PERSISTENCE**2)
    noise = np.empty(count)
    before = 0.0
    for index, shock in enumerate(shocks):
        before = PERSISTENCE * before + shock
        noise[index] = before
    return noise
