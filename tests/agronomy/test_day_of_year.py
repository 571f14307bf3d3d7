"""The 365-day year."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.agronomy.day_of_year import day_from_month_day, day_of_year, month_day


@given(st.integers(1, 365))
def test_month_day_round_trip(day):
    assert day_from_month_day(month_day(day)) == day


@given(st.dates(date(1700, 1, 1), date(2199, 12, 31)))
def test_every_date_stands_where_its_month_and_day_stand(day):
    text = "02-28" if (day.month, day.day) == (2, 29) else day.strftime("%m-%d")
    number = int(day_of_year(np.array([day], dtype="datetime64[D]"))[0])
    assert month_day(number) == text


def test_the_leap_day_shares_a_place():
    dates = np.array(["2016-02-28", "2016-02-29", "2016-03-01", "2015-03-01"], "datetime64[D]")
    assert day_of_year(dates).tolist() == [59, 59, 60, 60]
    assert day_from_month_day("02-29") == 59


@pytest.mark.parametrize("text", ["2-1", "02-30", "13-01", "00-10", "", "01-01-2000", "٠١-٠١"])
def test_no_such_month_day(text):
    with pytest.raises(ValueError, match="MM-DD"):
        day_from_month_day(text)


@pytest.mark.parametrize("day", [0, 366, -1])
def test_no_such_day(day):
    with pytest.raises(ValueError, match="365"):
        month_day(day)
