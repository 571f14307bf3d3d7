"""Made-up records with a known shape."""

import numpy as np

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.day_of_year import day_of_year


def days(first: str, last: str) -> np.ndarray:
    """Every day from `first` to `last`."""
    return np.arange(np.datetime64(first, "D"), np.datetime64(last, "D") + 1)


def record(dates, tmin_c, **more) -> DailyRecord:
    """A record of these days with maxima 10 C above the minima."""
    tmin = np.asarray(tmin_c, dtype=np.float64)
    return DailyRecord("made up", None, None, dates, tmin, tmin + 10, **more)


def cosine_year(first="2000-01-01", last="2029-12-31", mean=8.0, swing=14.0, seed=1, south=False):
    """Years of a cosine with noise, coldest in mid January (mid July in the south)."""
    dates = days(first, last)
    phase = 2 * np.pi * (day_of_year(dates) - (197 if south else 15)) / 365
    noise = np.random.default_rng(seed).normal(0, 3, dates.size)
    return record(dates, np.round(mean - swing * np.cos(phase) + noise, 1))


def with_minima(source: DailyRecord, changes: dict[str, float]) -> DailyRecord:
    """The same record with other minima on some days (NaN: missing)."""
    tmin = source.tmin_c.copy()
    for day, value in changes.items():
        tmin[source.dates == np.datetime64(day)] = value
    return record(source.dates, tmin, precision=source.precision)


def csv(source: DailyRecord) -> list[str]:
    """Lines of the plain CSV of a record, header first."""
    rows = zip(source.dates, source.tmin_c, source.tmax_c, strict=True)
    return ["date,tmin_c,tmax_c", *(f"{d},{a:.1f},{b:.1f}" for d, a, b in rows)]
