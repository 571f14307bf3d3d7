"""A made-up record whose years are all alike, and its rehearsal."""

from datetime import date, timedelta

import numpy as np

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.day_of_year import day_of_year
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.care.rehearsal import (
    Advice,
    RehearsedYear,
    Winter,
    rehearse,
    under_setting,
)
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.care.site_dates import SiteDates
from lifecycle.handbook import CROPS, Crop
from tests.external.installed_records import aquacrop_csv

PEPPER, TOMATO = CROPS["annuum"], CROPS["tomato_indeterminate"]
LATITUDES = {"champion": 40.4, "brussels": 50.8, "cordoba": -31.3, "tunis": 36.8}


def made_up(
    changes: dict[str, float] | None = None, first: str = "1999-01-01", last: str = "2011-12-31"
) -> DailyRecord:
    dates = np.arange(np.datetime64(first, "D"), np.datetime64(last, "D") + 1)
    lows = np.round(18 - 0.2 * np.abs(day_of_year(dates) - 200), 1)
    for day, low in (changes or {}).items():
        lows[dates == np.datetime64(day)] = low
    return DailyRecord("made up", None, 45.0, dates, lows, lows + 10)


def lived(
    changes: dict[str, float] | None = None,
    night: str = "55",
    winter: Winter = Winter.LIFTED,
    advice: Advice = Advice.NIGHTS,
    crop: Crop = PEPPER,
) -> RehearsedYear:
    """The year 2005, changed."""
    record = made_up(changes)
    sites = under_setting(known_sites(record, "north"), night)
    [year] = [y for y in rehearse(record, sites, crop, winter, advice).years if y.year == 2005]
    return year


def run(first: str, days: int, low: float) -> dict[str, float]:
    start = date.fromisoformat(first)
    return {(start + timedelta(number)).isoformat(): low for number in range(days)}


def real(name: str) -> tuple[DailyRecord, dict[int, SiteDates]]:
    record = read_daily_record(aquacrop_csv(name), units="C", latitude=LATITUDES[name])
    return record, known_sites(record, "south" if LATITUDES[name] < 0 else "north")
