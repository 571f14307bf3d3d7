"""A national weather service's gridpoint JSON: layers, intervals, nulls, units, zones."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.agronomy.forecast_gridpoint import read_address, read_gridpoint
from tests.agronomy.said import sentence_of

KEPT = Path(__file__).resolve().parents[1] / "reminders" / "forecasts"
CHICAGO = ZoneInfo("America/Chicago")
NIGHT = date(2026, 10, 14)
HOUR = timedelta(hours=1)


def layer(*intervals: tuple[str, object], uom: object = "wmoUnit:degC") -> dict[str, Any]:
    return {"uom": uom, "values": [{"validTime": t, "value": v} for t, v in intervals]}


def answer(**layers: object) -> bytes:
    given_layers = {"updateTime": "2026-10-14T12:00:00+00:00", **layers}
    return json.dumps({"properties": given_layers}).encode()


def test_a_kept_answer_is_read_night_by_night() -> None:
    issue = read_gridpoint((KEPT / "gridpoint.json").read_bytes(), CHICAGO)
    assert issue.issued_at == datetime(2026, 10, 14, 18, 7, 50, tzinfo=UTC)
    # The fourth night is null.
    assert [(told.night.day, round(told.low_c, 1)) for told in issue.nights] == [
        (14, -1.7), (15, 4.4), (16, 5.0), (18, 7.2), (19, 6.6), (20, 3.3),
    ]  # fmt: skip
    first = issue.nights[0]
    assert first.low_at == datetime(2026, 10, 15, 8, tzinfo=UTC)
    assert (first.wind_m_s, first.cloud_percent) == (pytest.approx(1.0), 10.0)
    assert first.dew_point_c == pytest.approx(-3.25)
    assert issue.nights[1].low_at is None
    assert issue.nights[1].wind_m_s is None


def test_the_answer_about_a_point_names_its_forecast() -> None:
    address = read_address((KEPT / "point.json").read_bytes())
    assert address == "https://api.weather.gov/gridpoints/LOT/52,80"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"{}", "“properties” is not an object"),
        (b'{"properties": {}}', "“properties.forecastGridData” is not a text"),
        (b'{"properties": {"forecastGridData": "a b"}}', "is not an address"),
        (
            b'{"properties": {"forecastGridData": ""}}',
            r"^The answer's “properties\.forecastGridData” is not an address\.$",
        ),
        (json.dumps({"properties": {"forecastGridData": "x" * 301}}).encode(), "not an address"),
    ],
)
def test_an_answer_about_a_point_without_an_address(data: bytes, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_address(data)


def test_fahrenheit_and_the_time_of_issue_under_its_other_name() -> None:
    data = {
        "properties": {
            "generatedAt": "2026-10-14T12:00:00Z",
            "minTemperature": layer(("2026-10-15T00:00:00+00:00/PT13H", 32), uom="wmoUnit:degF"),
        }
    }
    issue = read_gridpoint(json.dumps(data).encode(), CHICAGO)
    assert issue.nights[0].low_c == 0
    assert issue.issued_at.hour == 12


@pytest.mark.parametrize(
    ("zone", "start", "night"),
    [
        # 19:00 to 08:00 on the clock of each place.
        ("America/Chicago", "2026-10-15T00:00:00+00:00", date(2026, 10, 14)),
        ("Europe/Brussels", "2026-10-14T17:00:00+00:00", date(2026, 10, 14)),
        ("Australia/Brisbane", "2026-07-14T09:00:00+00:00", date(2026, 7, 14)),
        ("Pacific/Auckland", "2026-07-14T07:00:00+00:00", date(2026, 7, 14)),
        # The night in which the clocks go back, and the one in which they go forward.
        ("America/Chicago", "2026-11-01T00:00:00+00:00", date(2026, 10, 31)),
        ("America/Chicago", "2027-03-14T01:00:00+00:00", date(2027, 3, 13)),
    ],
)
def test_the_interval_of_a_night_is_that_of_its_evening(zone: str, start: str, night: date) -> None:
    data = answer(minTemperature=layer((f"{start}/PT13H", 2.5)))
    told = read_gridpoint(data, ZoneInfo(zone)).nights
    assert [(each.night, each.low_c) for each in told] == [(night, 2.5)]


@pytest.mark.parametrize(
    ("interval", "nights"),
    [
        ("2026-10-14T18:00:00Z/PT6H", [14]),
        ("2026-10-14T18:00:00Z/PT5H", []),
        ("2026-10-14T18:00:00Z/PT5H59M", []),
        ("2026-10-15T03:00:00Z/PT6H", [14]),
        ("2026-10-15T04:00:00Z/PT9H", []),
        ("2026-10-15T09:00:00Z/PT8H", []),
        ("2026-10-14T20:00:00Z/P1DT6H", [14, 15]),
        ("2026-10-14T18:00:00Z/P2D", [14, 15]),
        ("2026-10-14T18:00:00Z/P10D", list(range(14, 24))),
    ],
)
def test_six_hours_of_a_night_speak_for_it(interval: str, nights: list[int]) -> None:
    data = answer(minTemperature=layer((interval, 1), ("2026-11-01T18:00:00Z/PT13H", 9)))
    told = read_gridpoint(data, UTC).nights
    assert [each.night.day for each in told if each.low_c == 1] == nights


def test_a_night_that_is_day_elsewhere() -> None:
    """Midnight to seven where the date changes first, ten to five at Greenwich."""
    data = answer(minTemperature=layer(("2026-10-14T10:00:00Z/PT7H", 1)))
    [told] = read_gridpoint(data, ZoneInfo("Pacific/Kiritimati")).nights
    assert told.night == NIGHT


def test_two_intervals_of_one_night_give_the_lower() -> None:
    both = layer(("2026-10-14T18:00:00Z/PT7H", 3), ("2026-10-15T01:00:00Z/PT8H", 1))
    assert read_gridpoint(answer(minTemperature=both), UTC).nights[0].low_c == 1
    both["values"].reverse()
    assert read_gridpoint(answer(minTemperature=both), UTC).nights[0].low_c == 1


def test_without_a_minimum_the_lowest_hour_counts() -> None:
    hourly = layer(
        ("2026-10-14T15:00:00Z/PT9H", 8), ("2026-10-15T00:00:00Z/PT4H", 3),
        ("2026-10-15T04:00:00Z/PT1H", -0.5), ("2026-10-15T05:00:00Z/PT12H", 4),
    )  # fmt: skip
    for minimum in (None, layer(), layer(("2026-10-14T18:00:00Z/PT13H", None))):
        [told] = read_gridpoint(answer(temperature=hourly, minTemperature=minimum), UTC).nights
        assert (told.night, told.low_c) == (NIGHT, -0.5)
        assert told.low_at == datetime(2026, 10, 15, 4, tzinfo=UTC)


def test_half_a_night_of_hours_tells_no_low() -> None:
    hourly = layer(("2026-10-14T18:00:00Z/PT11H", 3))
    with pytest.raises(ValueError, match=r"^The answer tells the low of no night\.$"):
        read_gridpoint(answer(temperature=hourly), UTC)
    hourly = layer(("2026-10-14T18:00:00Z/PT13H", 3))
    assert len(read_gridpoint(answer(temperature=hourly), UTC).nights) == 1


GOOD = "2026-10-14T18:00:00Z/PT13H"


@pytest.mark.parametrize(
    ("layers", "words"),
    [
        ({"updateTime": None}, "“updateTime” holds a time that was not understood"),
        ({"updateTime": "2026-10-14T12:00"}, "“updateTime” holds a time without its zone"),
        ({"minTemperature": 5}, "“properties.minTemperature” is not an object"),
        ({"minTemperature": {}}, "“properties.minTemperature.values” is not a list"),
        ({"minTemperature": {"values": [{}]}}, "“properties.minTemperature.uom” is not a text"),
        ({"minTemperature": {"uom": "degC", "values": [5]}}, "something that is no interval"),
        ({"minTemperature": layer((5, 1))}, "“properties.minTemperature.values.validTime”"),
        (
            {"minTemperature": layer(("now/PT1H", 1))},
            "“minTemperature” holds a time that was not und",
        ),
        ({"minTemperature": layer((GOOD, "1"))}, "“minTemperature” holds something that is not"),
        ({"minTemperature": layer((GOOD, 99))}, "“minTemperature” holds a value that cannot be"),
        ({"minTemperature": layer((GOOD, 9), uom="wmoUnit:K")}, "is in “wmoUnit:K”"),
        ({"windSpeed": layer((GOOD, 9), uom="degC"), "minTemperature": layer((GOOD, 9))}, "windSp"),
        ({"skyCover": layer((GOOD, 101), uom="percent")}, "“skyCover” holds a value"),
        ({}, "tells the low of no night"),
    ],
)
def test_a_wrong_shape_is_said_in_one_sentence(layers: dict[str, object], words: str) -> None:
    if "skyCover" in layers:
        layers = {**layers, "minTemperature": layer((GOOD, 9))}
    with pytest.raises(ValueError, match=words) as problem:
        read_gridpoint(answer(**layers), UTC)
    assert str(problem.value).count(". ") == 0


@pytest.mark.parametrize(
    "lasts", ["", "PT", "P", "13H", "PT0H", "P11D", "PT13H ", "P10DT1M", "P1Y", "PT1.5H", "-PT1H"]
)
def test_an_interval_that_is_not_understood(lasts: str) -> None:
    data = answer(minTemperature=layer((f"2026-10-14T18:00:00Z/{lasts}", 1)))
    with pytest.raises(ValueError, match="“minTemperature” holds an interval that was not underst"):
        read_gridpoint(data, UTC)


def test_two_thousand_values_are_the_most() -> None:
    many = [(GOOD, 1)] * 2000
    assert len(read_gridpoint(answer(minTemperature=layer(*many)), UTC).nights) == 1
    with pytest.raises(ValueError, match=r"“properties\.minTemperature\.values” is too long"):
        read_gridpoint(answer(minTemperature=layer(*many, (GOOD, 1))), UTC)


NAMES = (
    *("properties", "updateTime", "minTemperature", "temperature", "windSpeed", "skyCover"),
    *("dewpoint", "uom", "values", "validTime", "value", "forecastGridData"),
)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=30)
    | st.sampled_from([GOOD, "wmoUnit:degC", "2026-10-14T12:00:00Z", "P1D"]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(
        st.sampled_from(
            NAMES
        ),
        inner,
        max_size=6,
    ),
    max_leaves=30,
)  # fmt: skip


@given(JSON, st.sampled_from(["UTC", "America/Chicago", "Pacific/Kiritimati"]))
def test_no_json_raises_anything_but_a_sentence(found: object, zone: str) -> None:
    data = json.dumps(found).encode()
    for read in (lambda: read_gridpoint(data, ZoneInfo(zone)), lambda: read_address(data)):
        said = sentence_of(read)
        assert not said or said.startswith("The answer")


@given(st.binary(max_size=200))
def test_no_bytes_raise_anything_but_a_sentence(data: bytes) -> None:
    with pytest.raises(ValueError, match=r"^The answer"):
        read_gridpoint(data, UTC)
