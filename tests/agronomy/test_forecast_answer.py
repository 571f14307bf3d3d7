"""The parts of a service's JSON: units, bounds, times, and a sentence for whatever is wrong."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from lifecycle.agronomy.forecast_answer import (
    LARGEST,
    SHARES,
    SPEEDS,
    TEMPERATURES,
    calendar_day,
    in_si,
    instant,
    parsed,
    part,
)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b'{"a": 1',
        b"\xff\xfe",
        b"{'a': 1}",
        b'{"a": NaN}',
        b"[" * 200_000,
        b'{"a": \xff}',
    ],
)
def test_what_is_not_json_is_said_to_be_cut_off_or_none(data: bytes) -> None:
    with pytest.raises(
        ValueError, match=r"^The answer is not JSON, or was cut off in the middle\.$"
    ):
        parsed(data)


@pytest.mark.parametrize("data", [b"[]", b"1", b'"text"', b"null"])
def test_json_that_is_no_object_is_no_forecast(data: bytes) -> None:
    with pytest.raises(ValueError, match="is JSON, but not a forecast"):
        parsed(data)


def test_two_megabytes_are_the_most() -> None:
    padded = b'{"a": 1}'.ljust(LARGEST)
    assert parsed(padded) == {"a": 1}
    with pytest.raises(ValueError, match=r"^The answer is larger than 2 MB; a forecast is not\.$"):
        parsed(padded + b" ")
    assert LARGEST == 2_097_152


def test_a_part_of_another_kind_is_named() -> None:
    assert part({"a": {}}, "a", dict) == {}
    for kind, words in ((dict, "an object"), (list, "a list"), (str, "a text")):
        with pytest.raises(ValueError, match=rf"^The answer's “x\.a” is not {words}\.$"):
            part({"a": 1}, "a", kind, "x.")
    with pytest.raises(ValueError, match="“a” is not a list"):
        part({}, "a", list)


@pytest.mark.parametrize(
    ("value", "unit", "units", "si"),
    [
        (3, "wmoUnit:degC", TEMPERATURES, 3.0),
        (3.5, "°C", TEMPERATURES, 3.5),
        (32, "wmoUnit:degF", TEMPERATURES, 0.0),
        (50, "°F", TEMPERATURES, 10.0),
        (36, "wmoUnit:km_h-1", SPEEDS, 10.0),
        (36, "km/h", SPEEDS, 10.0),
        (4, "wmoUnit:m_s-1", SPEEDS, 4.0),
        (4, "m/s", SPEEDS, 4.0),
        (10, "mph", SPEEDS, 4.4704),
        (10, "mp/h", SPEEDS, 4.4704),
        (3600, "kn", SPEEDS, None),
        (9, "kn", SPEEDS, 4.63),
        (70, "wmoUnit:percent", SHARES, 70.0),
        (0, "%", SHARES, 0.0),
        (100, "%", SHARES, 100.0),
        (-95, "degC", TEMPERATURES, -95.0),
        (60, "degC", TEMPERATURES, 60.0),
        (140, "degF", TEMPERATURES, 60.0),
        (-139, "degF", TEMPERATURES, -95.0),
        (120, "m/s", SPEEDS, 120.0),
        (432, "km/h", SPEEDS, 120.0),
    ],
)
def test_units_become_si(value: float, unit: str, units: tuple[str, ...], si: float | None) -> None:
    if si is None:
        with pytest.raises(ValueError, match="cannot be"):
            in_si("x", value, unit, units)
    else:
        assert in_si("x", value, unit, units) == pytest.approx(si)


@pytest.mark.parametrize(
    ("value", "unit", "units"),
    [
        (-95.1, "degC", TEMPERATURES),
        (60.1, "degC", TEMPERATURES),
        (140.2, "degF", TEMPERATURES),
        (-139.2, "degF", TEMPERATURES),
        (-0.1, "m/s", SPEEDS),
        (120.1, "m/s", SPEEDS),
        (432.1, "km/h", SPEEDS),
        (-0.1, "%", SHARES),
        (100.1, "%", SHARES),
        (10**400, "degC", TEMPERATURES),
        (float("inf"), "degC", TEMPERATURES),
    ],
)
def test_what_no_air_has_is_refused(value: float, unit: str, units: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match=r"^The answer's “x” holds a value that cannot be\.$"):
        in_si("x", value, unit, units)


def test_null_is_nothing_and_a_wrong_unit_is_named() -> None:
    assert in_si("x", None, "degC", TEMPERATURES) is None
    with pytest.raises(ValueError, match="“x” is in “K”, which is not known here"):
        in_si("x", 273, "K", TEMPERATURES)
    with pytest.raises(ValueError, match="is in “degC”"):
        in_si("x", 3, "degC", SPEEDS)
    with pytest.raises(ValueError, match=f"is in “{'y' * 20}”"):
        in_si("x", 3, "y" * 40, SPEEDS)
    for value in ("3", True, [], {}):
        with pytest.raises(ValueError, match="something that is not a number"):
            in_si("x", value, "degC", TEMPERATURES)


def test_instants_are_utc() -> None:
    assert instant("t", "2026-10-14T18:07:50+00:00") == datetime(
        2026, 10, 14, 18, 7, 50, tzinfo=UTC
    )
    assert instant("t", "2026-10-14T18:00-05:00") == datetime(2026, 10, 14, 23, tzinfo=UTC)
    local = instant("t", "2026-10-14T18:00", timedelta(hours=10))
    assert local == datetime(2026, 10, 14, 8, tzinfo=UTC)
    with pytest.raises(ValueError, match="“t” holds a time without its zone"):
        instant("t", "2026-10-14T18:00")


@pytest.mark.parametrize(
    "text", ["", "x", None, 5, "1999-12-31T00:00Z", "2200-01-01T00:00Z", "0001-01-01T00:00Z"]
)
def test_times_that_are_not_understood(text: object) -> None:
    with pytest.raises(
        ValueError, match=r"^The answer's “t” holds a time that was not understood\.$"
    ):
        instant("t", text, timedelta(0))


def test_the_first_and_the_last_year() -> None:
    assert instant("t", "2000-01-01T00:00Z").year == 2000
    assert instant("t", "2199-12-31T00:00Z").year == 2199
    assert calendar_day("d", "2000-01-01") == date(2000, 1, 1)
    assert calendar_day("d", "2199-12-31") == date(2199, 12, 31)


@pytest.mark.parametrize("text", ["", "x", None, 5, "1999-12-31", "2200-01-01", "2026-02-30"])
def test_days_that_are_not_understood(text: object) -> None:
    with pytest.raises(
        ValueError, match=r"^The answer's “d” holds a day that was not understood\.$"
    ):
        calendar_day("d", text)


def test_json_numbers_beyond_a_float_are_refused() -> None:
    huge = parsed(json.dumps({"a": 10**300}).encode())
    with pytest.raises(ValueError, match="cannot be"):
        in_si("a", huge["a"], "degC", TEMPERATURES)
