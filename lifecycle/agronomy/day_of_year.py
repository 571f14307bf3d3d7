"""The 365-day year: 29 February shares a place with 28 February, so that years can be laid on top
of each other."""

import re
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

DAYS_IN_YEAR = 365
_COMMON_YEAR = 2001  # any year without a leap day
_MONTH_DAY = re.compile(r"([0-9]{2})-([0-9]{2})")


def is_leap(years: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether each Gregorian calendar year has a 29 February."""
    return np.asarray((years % 4 == 0) & ((years % 100 != 0) | (years % 400 == 0)), dtype=np.bool_)


def day_of_year(dates: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Day 1..365 of each date (datetime64[D]); 29 February counts as day 59, like 28 February."""
    years = dates.astype("datetime64[Y]")
    number = (dates - years.astype("datetime64[D]")).astype(np.int64) + 1
    calendar_year = years.astype(np.int64) + 1970
    return np.asarray(number - (is_leap(calendar_year) & (number > 59)), dtype=np.int64)


def month_day(day: int) -> str:
    """`MM-DD` of a day 1..365; ValueError outside that range."""
    if not 1 <= day <= DAYS_IN_YEAR:
        raise ValueError(f"A day of the year runs from 1 to 365, not {day}.")
    return (date(_COMMON_YEAR, 1, 1) + timedelta(days=day - 1)).strftime("%m-%d")


def day_from_month_day(text: str) -> int:
    """Day 1..365 of an `MM-DD`; `02-29` gives 59. ValueError when it is no such date."""
    match = _MONTH_DAY.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is not a month and day; write it as MM-DD, such as 05-09.")
    month, day = int(match[1]), int(match[2])
    if (month, day) == (2, 29):
        day = 28
    try:
        return date(_COMMON_YEAR, month, day).timetuple().tm_yday
    except ValueError:
        raise ValueError(f"There is no day {text!r} in the year; write MM-DD.") from None
