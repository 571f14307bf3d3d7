"""A night from 18:00 to 09:00 on the site's clock, and what hours tell of it."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lifecycle.agronomy.forecast_nights import (
    NightTold,
    by_night,
    covers_night,
    lows_of,
    means_of,
    night_of,
    night_span,
    nights_told,
)

CHICAGO = ZoneInfo("America/Chicago")
NIGHT = date(2026, 10, 14)
HOUR = timedelta(hours=1)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 10, day, hour, minute, tzinfo=UTC)


def test_a_night_runs_from_six_in_the_evening_to_nine_in_the_morning() -> None:
    assert night_span(NIGHT, UTC) == (at(14, 18), at(15, 9))
    assert night_span(NIGHT, CHICAGO) == (at(14, 23), at(15, 14))


@pytest.mark.parametrize(
    ("first", "last", "hours"),
    [
        # Clocks go back in the night of 31 October 2026, and forward in that of 13 March 2027.
        (date(2026, 10, 31), date(2026, 11, 1), 16),
        (date(2027, 3, 13), date(2027, 3, 14), 14),
        (date(2026, 12, 1), date(2026, 12, 2), 15),
    ],
)
def test_a_night_of_the_clock_change_is_an_hour_longer_or_shorter(
    first: date, last: date, hours: int
) -> None:
    evening, morning = night_span(first, CHICAGO)
    assert morning - evening == hours * HOUR
    assert morning.astimezone(CHICAGO).date() == last


@pytest.mark.parametrize(
    ("moment", "night"),
    [
        (at(14, 18), NIGHT),
        (at(14, 17, 59), None),
        (at(15, 0), NIGHT),
        (at(15, 9), NIGHT),
        (at(15, 9, 1), None),
        (at(15, 12), None),
        (at(14, 23, 59), NIGHT),
    ],
)
def test_an_instant_belongs_to_one_night_or_to_the_day(moment: datetime, night: date) -> None:
    assert night_of(moment, UTC) == night


def test_hours_are_sorted_into_nights() -> None:
    hours = {at(15, 3): 1.0, at(14, 20): 4.0, at(15, 12): 15.0, at(15, 19): 6.0}
    assert by_night(hours, UTC) == {
        NIGHT: {at(14, 20): 4.0, at(15, 3): 1.0},
        date(2026, 10, 15): {at(15, 19): 6.0},
    }


@pytest.mark.parametrize(
    ("moments", "covered"),
    [
        ([at(14, 21), at(15, 0), at(15, 3), at(15, 6)], True),
        ([at(14, 21, 1), at(15, 0), at(15, 3), at(15, 6)], False),
        ([at(14, 21), at(15, 0), at(15, 3), at(15, 5, 59)], False),
        ([at(14, 21), at(15, 0), at(15, 3, 1), at(15, 6)], False),
        ([], False),
    ],
)
def test_three_hours_are_the_widest_gap(moments: list[datetime], covered: bool) -> None:
    assert covers_night(moments, NIGHT, UTC) is covered


def test_the_low_is_the_first_lowest_hour_of_a_whole_night() -> None:
    hours = {at(14, 18) + number * HOUR: 5.0 for number in range(16)}
    hours[at(15, 4)] = hours[at(15, 5)] = -1.0
    hours[at(15, 20)] = -9.0
    assert lows_of(hours, UTC) == {NIGHT: (-1.0, at(15, 4))}
    assert means_of(hours, UTC) == {NIGHT: pytest.approx((14 * 5 - 2) / 16)}


def test_nights_stand_in_order_with_what_else_is_told() -> None:
    other = date(2026, 10, 15)
    lows = {other: (3.0, None), NIGHT: (1.0, at(15, 5))}
    assert nights_told(lows, {NIGHT: 1.5}, {NIGHT: 20.0}, {other: -2.0}) == (
        NightTold(NIGHT, 1.0, at(15, 5), 1.5, 20.0, None),
        NightTold(other, 3.0, None, None, None, -2.0),
    )
