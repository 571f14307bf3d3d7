"""An open forecast service's parallel arrays: hours before days, units, nulls, zones."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.agronomy.forecast_daily import read_daily
from tests.agronomy.said import sentence_of

KEPT = Path(__file__).resolve().parents[1] / "reminders" / "forecasts"
NOW = datetime(2026, 10, 14, 12, tzinfo=UTC)
NIGHT = date(2026, 10, 14)
EVENING = datetime.fromisoformat("2026-10-14T18:00")
"""On whatever clock an answer keeps to."""


def hourly(values: list[object], start: datetime = EVENING, **more: Any) -> dict[str, Any]:
    times = [f"{start + timedelta(hours=number):%Y-%m-%dT%H:%M}" for number in range(len(values))]
    return {
        "utc_offset_seconds": 0,
        "hourly_units": {"temperature_2m": "°C"},
        "hourly": {"time": times, "temperature_2m": values},
        **more,
    }


def daily(*days: tuple[str, object], unit: str = "°C") -> dict[str, Any]:
    return {
        "utc_offset_seconds": 0,
        "daily_units": {"time": "iso8601", "temperature_2m_min": unit},
        "daily": {
            "time": [day for day, _ in days],
            "temperature_2m_min": [low for _, low in days],
        },
    }


def read(answer: object, zone: str = "UTC") -> list[tuple[date, float]]:
    issue = read_daily(json.dumps(answer).encode(), ZoneInfo(zone), NOW)
    assert issue.issued_at == NOW
    return [(told.night, told.low_c) for told in issue.nights]


def test_a_kept_southern_answer_is_read_by_hours_where_they_cover_the_night() -> None:
    data = (KEPT / "open_hourly.json").read_bytes()
    issue = read_daily(data, ZoneInfo("Australia/Brisbane"), NOW)
    assert [(told.night.day, told.low_c, told.low_at is None) for told in issue.nights] == [
        (13, 4.0, True), (14, 5.5, False), (15, 7.0, False), (16, 3.2, True),
    ]  # fmt: skip
    whole = issue.nights[1]
    assert whole.wind_m_s == pytest.approx((6 * 1.5 + 10 * 3.0) / 16)
    assert (whole.cloud_percent, whole.dew_point_c) == (20.0, 2.5)
    # The hours of the first night begin at midnight, and its wind is not known.
    assert issue.nights[0].wind_m_s is None


def test_the_time_of_issue_is_that_of_the_fetch_in_utc() -> None:
    local = datetime(2026, 10, 14, 14, tzinfo=ZoneInfo("Europe/Brussels"))
    issue = read_daily(json.dumps(hourly([1.0] * 16)).encode(), UTC, local)
    assert issue.issued_at == NOW
    assert issue.issued_at.tzinfo is UTC


def test_a_daily_minimum_is_the_low_of_the_night_before() -> None:
    assert read(daily(("2026-10-15", 1.5), ("2026-10-16", 3))) == [
        (NIGHT, 1.5), (date(2026, 10, 15), 3.0),
    ]  # fmt: skip
    assert read(daily(("2026-10-15", 32), unit="°F")) == [(NIGHT, 0.0)]


def test_hours_go_before_the_day() -> None:
    """The lowest hour of the calendar day may lie in the next evening: then days mislead."""
    both = {**hourly([4.0] * 16), **daily(("2026-10-15", -6.0))}
    assert read(both) == [(NIGHT, 4.0)]
    missing: list[object] = [4.0] * 5 + [None] * 3 + [4.0] * 8
    assert read({**hourly(missing), **daily(("2026-10-15", -6.0))}) == [(NIGHT, -6.0)]


def test_nulls_are_left_out() -> None:
    values: list[object] = [5.0] * 16
    values[3] = None
    values[9] = -0.5
    assert read(hourly(values)) == [(NIGHT, -0.5)]
    assert read(daily(("2026-10-15", None), ("2026-10-16", 3))) == [(date(2026, 10, 15), 3.0)]
    with pytest.raises(ValueError, match="tells the low of no night"):
        read(hourly([None] * 16))


@pytest.mark.parametrize(
    ("zone", "offset", "start"),
    [
        ("America/Chicago", -18000, EVENING),
        ("Australia/Brisbane", 36000, EVENING),
        ("Asia/Kolkata", 19800, EVENING + timedelta(minutes=30)),
        # The clocks go back in this night; the answer keeps to one offset.
        ("America/Chicago", -18000, EVENING + timedelta(days=17)),
        ("America/Chicago", -21600, EVENING + timedelta(days=150)),
    ],
)  # fmt: skip
def test_times_stand_on_the_clock_of_the_answer(zone: str, offset: int, start: datetime) -> None:
    low = [6.0] * 9 + [1.0] + [6.0] * 6
    answer = hourly(low, start, utc_offset_seconds=offset)
    issue = read_daily(json.dumps(answer).encode(), ZoneInfo(zone), NOW)
    [told] = issue.nights
    assert told.night == start.date()
    wanted = start + timedelta(hours=9) - timedelta(seconds=offset)
    assert told.low_at == wanted.replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"utc_offset_seconds": None}, "“utc_offset_seconds” is not a number of seconds"),
        ({"utc_offset_seconds": True}, "“utc_offset_seconds”"),
        ({"utc_offset_seconds": 1.5}, "“utc_offset_seconds”"),
        ({"utc_offset_seconds": 50401}, "“utc_offset_seconds”"),
        ({"utc_offset_seconds": -50401}, "“utc_offset_seconds”"),
        ({"hourly": []}, "“hourly” is not an object"),
        ({"hourly": {"temperature_2m": [1]}}, "“hourly.time” is not a list"),
        ({"hourly": {"time": ["x"], "temperature_2m": 5}}, "“hourly.temperature_2m” is not a list"),
        ({"hourly": {"time": ["x"], "temperature_2m": [1, 2]}}, "1 times and 2 values of “temper"),
        ({"hourly": {"time": ["x"], "temperature_2m": [1]}}, "“hourly.time” holds a time"),
        ({"hourly_units": None}, "“hourly_units” is not an object"),
        ({"hourly_units": {}}, "“hourly_units.temperature_2m” is not a text"),
        ({"hourly_units": {"temperature_2m": "K"}}, "is in “K”"),
        (
            {"hourly": {"time": ["2026-10-14T20:00"], "temperature_2m": ["1"]}},
            "“temperature_2m” holds something that is not a number",
        ),
        ({"hourly": None}, "tells the low of no night"),
        ({"hourly": {"time": []}}, "tells the low of no night"),
        ({"error": True, "reason": "x", "hourly": None}, "tells the low of no night"),
    ],
)
def test_a_wrong_shape_is_said_in_one_sentence(change: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words) as problem:
        read({**hourly([1.0] * 16), **change})
    assert str(problem.value).count(". ") == 0


def test_a_wrong_day_is_said() -> None:
    with pytest.raises(ValueError, match=r"“daily\.time” holds a day that was not understood"):
        read(daily(("2026-13-01", 1.0)))


@pytest.mark.parametrize("offset", [50400, -50400])
def test_the_farthest_clocks_are_taken(offset: int) -> None:
    assert read({**daily(("2026-10-15", 1.5)), "utc_offset_seconds": offset}) == [(NIGHT, 1.5)]


def test_a_thousand_values_are_the_most() -> None:
    assert len(read(hourly([1.0] * 1000))) == 42
    with pytest.raises(ValueError, match="1001 times and 1001 values"):
        read(hourly([1.0] * 1001))


NAMES = ["hourly", "daily", "hourly_units", "daily_units", "time", "utc_offset_seconds"]
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=30)
    | st.sampled_from(["2026-10-14", "2026-10-14T20:00", "°C", "%", "m/s"]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(
        st.sampled_from([*NAMES, "temperature_2m", "wind_speed_10m", "temperature_2m_min"]),
        inner,
        max_size=7,
    ),
    max_leaves=30,
)  # fmt: skip


@given(JSON, st.booleans())
def test_no_json_raises_anything_but_a_sentence(found: object, with_offset: bool) -> None:
    if isinstance(found, dict) and with_offset:
        found["utc_offset_seconds"] = 7200
    data = json.dumps(found).encode()
    said = sentence_of(lambda: read_daily(data, ZoneInfo("Europe/Brussels"), NOW))
    assert not said or said.startswith("The answer")
