"""Worked examples of recurring days in RFC 5545 (iCalendar, 2009), section 3.8.5.3.

The examples are from memory. One thing differs on purpose: a rule on the 31st of the month names
no day in shorter months there, while a chore falls on their last day; that is checked against
another library's calendar of months (python-dateutil, ``relativedelta``).
"""

from datetime import date

from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.care.chores import ChoreDays, Repeat, days_of, months_after

BEGINS = date(1997, 9, 2)
"""DTSTART of the section's examples: a Tuesday."""


def first(number: int, repeat: Repeat, every: int, begins: date = BEGINS) -> list[str]:
    """The first days of a chore, as month and day."""
    windows = days_of(ChoreDays(repeat, begins, every=every), begins, date(2010, 1, 1), None)
    return [f"{window.best:%m-%d}" for window in windows[:number]]


def test_every_10_days_5_occurrences() -> None:
    assert first(5, Repeat.DAYS, 10) == ["09-02", "09-12", "09-22", "10-02", "10-12"]


def test_every_other_day() -> None:
    assert first(5, Repeat.DAYS, 2) == ["09-02", "09-04", "09-06", "09-08", "09-10"]


def test_weekly_for_10_occurrences() -> None:
    assert first(10, Repeat.WEEKS, 1) == [
        *("09-02", "09-09", "09-16", "09-23", "09-30"),
        *("10-07", "10-14", "10-21", "10-28", "11-04"),
    ]


def test_every_other_week() -> None:
    assert first(8, Repeat.WEEKS, 2) == [
        *("09-02", "09-16", "09-30", "10-14", "10-28", "11-11", "11-25", "12-09"),
    ]


def test_monthly_on_the_second_every_other_month_and_yearly() -> None:
    assert first(4, Repeat.MONTHS, 2) == ["09-02", "11-02", "01-02", "03-02"]
    years = days_of(ChoreDays(Repeat.YEARS, BEGINS, every=3), BEGINS, date(2007, 1, 1), None)
    assert [window.best.year for window in years] == [1997, 2000, 2003, 2006]


@given(st.dates(date(1950, 1, 1), date(2100, 1, 1)), st.integers(0, 600))
def test_months_on_as_another_calendar_counts_them(day: date, months: int) -> None:
    assert months_after(day, months) == day + relativedelta(months=months)
