"""A dropped forecast file: its columns, its issues, and the line of whatever is wrong."""

from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.agronomy.forecast_file import LARGEST, MOST_LINES, read_file
from lifecycle.agronomy.forecast_nights import NightTold
from tests.agronomy.said import sentence_of

KEPT = Path(__file__).resolve().parents[1] / "reminders" / "forecasts"
BRUSSELS = ZoneInfo("Europe/Brussels")
HEAD = "issued_at,night,low_c\n"
GOOD = "2026-10-14T13:10,2026-10-14,1.5\n"


def test_a_kept_file_holds_two_issues() -> None:
    first, second = read_file((KEPT / "two_issues.csv").read_bytes(), BRUSSELS)
    assert first.issued_at == datetime(2026, 10, 14, 4, 30, tzinfo=UTC)
    assert first.nights == (
        NightTold(date(2026, 10, 14), 1.5, None, 2.0, 40.0, -1.0),
        NightTold(date(2026, 10, 15), 4.0),
    )
    # An offset of its own goes before the site's clock.
    assert second.issued_at == datetime(2026, 10, 14, 13, 10, tzinfo=UTC)
    assert second.nights == (NightTold(date(2026, 10, 14), -0.5, None, 1.2, 10.0, -2.5),)


def test_columns_stand_in_any_order_and_nights_are_sorted() -> None:
    text = (
        "\ufeffNight, LOW_F ,issued_at\r\n2026-10-15,50,2026-10-14T13:10Z\r\n\r\n"
        "2026-10-14,32,2026-10-14T13:10Z\r\n , ,\r\n"
    )
    [issue] = read_file(text.encode(), UTC)
    assert [(told.night.day, told.low_c) for told in issue.nights] == [(14, 0.0), (15, 10.0)]


def test_a_typographic_minus_is_read() -> None:
    [issue] = read_file((HEAD + GOOD.replace("1.5", "−1.5")).encode(), UTC)
    assert issue.nights[0].low_c == -1.5


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "The file is empty or not text; begin it with issued_at,night,low_c."),
        (" \n", "The file is empty or not text"),
        ("a\x00b", "The file is empty or not text"),
        ("night,low_c\n", "Line 1 lacks the column issued_at; begin the file with"),
        ("issued_at,low_c\n", "Line 1 lacks the column night;"),
        ("issued_at,night\n", "Line 1 lacks the column low_c or low_f;"),
        ("issued_at,night,low_c,low_f\n", "Line 1 names low_c or low_f more than once"),
        ("issued_at,night,low_c,low_c\n", "Line 1 names low_c or low_f more than once"),
        ("issued_at,night,low_c,night\n", "Line 1 names the column night twice"),
        ("issued_at,night,low_c,rain\n", "Line 1 has the column “rain”, which is not known here."),
        (HEAD, "The file has a header and no night"),
        (HEAD + "a,b\n", "Line 2 has 2 values and the header 3; give one for each column."),
        (HEAD + GOOD + "a,b,c,d\n", "Line 3 has 4 values and the header 3"),
        (HEAD + "x,2026-10-14,1\n", "Line 2: issued_at is “x”; give a time such as"),
        (HEAD + "1999-12-31T00:00,2026-10-14,1\n", "Line 2: issued_at is “1999"),
        (HEAD + "2200-01-01T00:00,2026-10-14,1\n", "Line 2: issued_at is “2200"),
        (HEAD + "2026-10-14T13:10,14 Oct,1\n", "Line 2: night is “14 Oct”; give the date"),
        (HEAD + "2026-10-14T13:10,1999-12-31,1\n", "date of its evening, such as 2026-10-14."),
        (HEAD + "x" * 40 + ",2026-10-14,1\n", f"“{'x' * 30}”"),
        (HEAD + "2026-10-14T13:10," + "x" * 40 + ",1\n", f"“{'x' * 30}”"),
        (HEAD + "2026-10-14T13:10,2026-10-14," + "x" * 40 + "\n", f"“{'x' * 20}”"),
        ("issued_at,night,low_c," + "x" * 40 + "\n", f"“{'x' * 20}”"),
        (HEAD + "2026-10-14T13:10,2200-01-01,1\n", "Line 2: night is “2200-01-01”"),
        (HEAD + "2026-10-14T13:10,2026-10-14,\n", "Line 2 gives no low_c"),
        (HEAD + "2026-10-14T13:10,2026-10-14,cold\n", "Line 2: low_c is “cold”; give a number fr"),
        (HEAD + "2026-10-14T13:10,2026-10-14,nan\n", "Line 2: low_c is “nan”"),
        (HEAD + "2026-10-14T13:10,2026-10-14,60.1\n", "give a number from -95 to 60."),
        (HEAD + "2026-10-14T13:10,2026-10-14,-95.1\n", "give a number from -95 to 60."),
        (HEAD.replace("_c", "_f") + "2026-10-14T13:10,2026-10-14,141\n", "from -139 to 140."),
        (
            HEAD + GOOD + "\n" + GOOD,
            "Line 4 tells the night of 2026-10-14 a second time in the same issue; give it once.",
        ),
        (
            "issued_at,night,low_c,wind_m_s\n2026-10-14T13:10,2026-10-14,1,-1\n",
            "Line 2: wind_m_s is “-1”;",
        ),
        ("issued_at,night,low_c,wind_m_s\n2026-10-14T13:10,2026-10-14,1,121\n", "from 0 to 120."),
        ("issued_at,night,low_c,cloud_percent\n2026-10-14T13:10,2026-10-14,1,101\n", "0 to 100."),
        ("issued_at,night,low_c,dew_point_c\n2026-10-14T13:10,2026-10-14,1,61\n", "-95 to 60."),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=r"^(The file|Line)") as problem:
        read_file(text.encode(), UTC)
    assert sentence in str(problem.value)
    assert str(problem.value).endswith(".")


@pytest.mark.parametrize(("low", "taken"), [("60", 60.0), ("-95", -95.0)])
def test_the_bounds_themselves_are_taken(low: str, taken: float) -> None:
    [issue] = read_file((HEAD + GOOD.replace("1.5", low)).encode(), UTC)
    assert issue.nights[0].low_c == taken


def test_the_first_and_last_year() -> None:
    text = "2000-01-01T00:00,2000-01-01,1\n2199-12-31T00:00,2199-12-31,1\n"
    assert len(read_file((HEAD + text).encode(), UTC)) == 2


def test_not_utf8_and_not_csv_and_too_large() -> None:
    with pytest.raises(ValueError, match="not UTF-8 text"):
        read_file(b"\xff\xfe", UTC)
    with pytest.raises(
        ValueError, match=r"^The file is larger than 2 MB; give the coming nights only\.$"
    ):
        read_file(b"x" * (LARGEST + 1), UTC)
    blank = (" " * 99_999 + "\n") * 30
    assert read_file((HEAD + GOOD + blank).encode()[:LARGEST], UTC)
    assert LARGEST == 2_097_152
    with pytest.raises(
        ValueError, match=r"^The file is not CSV; put one value between two commas\.$"
    ):
        read_file((HEAD + '"' + "x" * 200_000).encode(), UTC)


def test_five_thousand_lines_are_the_most() -> None:
    assert read_file((HEAD + GOOD + "\n" * (MOST_LINES - 2)).encode(), UTC)
    with pytest.raises(ValueError, match="The file has 5001 lines; give 5000 at most"):
        read_file((HEAD + GOOD + "\n" * (MOST_LINES - 1)).encode(), UTC)


@given(
    st.one_of(
        st.binary(max_size=300),
        st.text(max_size=300).map(lambda s: (HEAD + s).encode("utf-8", "ignore")),
    )
)
def test_no_bytes_raise_anything_but_a_sentence(data: bytes) -> None:
    said = sentence_of(lambda: read_file(data, BRUSSELS))
    assert not said or said.startswith(("The file", "Line"))
