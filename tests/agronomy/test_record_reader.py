"""Plain and NCEI CSV: formats, units, duplicates, and sentences for what cannot be read."""

import gzip

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_records import cosine_year, csv

from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.record_reader import read_daily_record

ROWS = [("2016-01-01", 1, 9), ("2016-01-02", 2, 12), ("2016-01-03", -3, 4)]


def plain(header, rows=ROWS, end="\n"):
    return (end.join([header, *(",".join(map(str, row)) for row in rows)]) + end).encode()


@pytest.mark.parametrize(
    "header",
    [
        "date,tmin_c,tmax_c",
        "Date,Tmin(C),Tmax(C)",
        "DATE,TMIN (°C),TMAX (°C)",
        "date,tmin_degC,tmax_degC",
        "date,temp_min_c,temp_max_c",
        "date,min temp (C),max temp (C)",
        "date,minimum [deg C],maximum [deg C]",
    ],
)
def test_headers_that_state_celsius(header):
    record = read_daily_record(plain(header))
    assert record.tmin_c.tolist() == [1, 2, -3]
    assert record.native_unit == "C"


@pytest.mark.parametrize("header", ["date,tmin_f,tmax_f", "date,tmin (F),tmax (F)"])
def test_headers_that_state_fahrenheit(header):
    record = read_daily_record(plain(header))
    assert record.tmin_c == pytest.approx((np.array([1, 2, -3]) - 32) / 1.8)
    assert (record.native_unit, record.precision) == ("F", 1.0)


def test_stated_units_serve_a_header_without_them():
    tenths = plain("date,tmin,tmax", [("2016-01-01", -22, 105)])
    assert read_daily_record(tenths, units="tenths").tmin_c[0] == pytest.approx(-2.2)
    assert read_daily_record(plain("date,tmin,tmax"), units="C").tmin_c[0] == 1


@pytest.mark.parametrize(
    "data",
    [
        plain("date,tmin_c,tmax_c", end="\r\n"),
        b"\xef\xbb\xbf" + plain("date,tmin_c,tmax_c"),
        plain("date,tmin_c,tmax_c") + b"\n \n\n",
        b"# from the shed\n" + plain("date,tmin_c,tmax_c"),
        gzip.compress(plain("date,tmin_c,tmax_c"), mtime=0),
        plain("date,tmin_c,tmax_c").replace(b",", b";"),
        plain("date,tmin_c,tmax_c").replace(b",", b"\t"),
        plain("date,tmin_c,tmax_c").replace(b"2016-01-0", b"2016010"),
        plain("date,tmin_c,tmax_c").replace(b"2016-01-0", b"2016/01/0"),
        plain("date,tmin_c,tmax_c", ROWS[::-1]),
    ],
    ids=[
        "windows", "bom", "blank lines", "comment", "gzip", "semicolon", "tab", "compact", "slash",
        "reversed",
    ],
)  # fmt: skip
def test_the_same_days_in_other_clothes(data):
    record = read_daily_record(data)
    assert record.dates.astype(str).tolist() == [row[0] for row in ROWS]
    assert record.tmin_c.tolist() == [1, 2, -3]
    assert record.tmax_c.tolist() == [9, 12, 4]


@pytest.mark.parametrize("mark", ["", "NA", "nan", "-9999", "-9999.0", "9999", "-99.9", "M"])
def test_marks_for_a_missing_value(mark):
    record = read_daily_record(plain("date,tmin_c,tmax_c", [*ROWS, ("2016-01-04", mark, 3)]))
    assert np.isnan(record.tmin_c[-1])
    assert record.rejected == {}


def test_rain_in_mm_and_inches():
    row = [("2016-01-01", 40, 60, 2)]
    assert read_daily_record(plain("date,tmin_f,tmax_f,precip_mm", row)).precip_mm[0] == 2
    inches = read_daily_record(plain("date,tmin_f,tmax_f,precip_in", row)).precip_mm[0]
    assert inches == pytest.approx(50.8)
    trace = [("2016-01-01", 40, 60, "T")]
    assert read_daily_record(plain("date,tmin_f,tmax_f,precip_in", trace)).precip_mm[0] == 0


def test_a_station_column_beside_stated_units_is_a_plain_csv():
    rows = [("shed", *row) for row in ROWS]
    assert read_daily_record(plain("station,date,tmin_c,tmax_c", rows)).tmin_c[2] == -3


def test_repeats_are_counted_and_conflicts_keep_neither():
    rows = [*ROWS, ROWS[0], ("2016-01-02", 2, 13), ("2016-01-03", 0, 4)]
    record = read_daily_record(plain("date,tmin_c,tmax_c", rows))
    assert record.duplicates == 4
    assert record.rejected == {"given twice with different values": 4}
    assert np.isnan(record.tmax_c[1])
    assert record.tmin_c[1] == 2
    assert np.isnan(record.tmin_c[2])
    assert record.tmax_c[2] == 4


def test_a_minimum_above_the_maximum_drops_both():
    rows = [*ROWS, ("2016-01-04", 9, 3)]
    record = read_daily_record(plain("date,tmin_c,tmax_c", [*rows, ("2016-01-05", 1, 3)]))
    assert record.rejected == {"minimum above the maximum": 2}
    assert np.isnan(record.tmin_c[3])
    assert np.isnan(record.tmax_c[3])


def test_single_impossible_values_are_dropped_and_counted():
    rows = [*ROWS, ("2016-01-04", -96, 3), ("2016-01-05", 1, 61)]
    record = read_daily_record(plain("date,tmin_c,tmax_c", rows))
    assert record.rejected == {"impossible as an air temperature": 2}


NCEI = "STATION,NAME,LATITUDE,LONGITUDE,ELEVATION,DATE,PRCP,TMAX,TMIN\n"


def ncei(values):
    """A year of the given daily (maximum, minimum) pairs, over and over."""
    dates = np.arange(np.datetime64("2015-01-01"), np.datetime64("2016-01-01"))
    rows = [
        f'X,"PLACE, US",-31.2,0,0,{day},1,{values[i % len(values)][0]},{values[i % len(values)][1]}'
        for i, day in enumerate(dates)
    ]
    return (NCEI + "\n".join(rows)).encode()


@pytest.mark.parametrize(
    ("values", "unit", "tmax_c", "rain_mm"),
    [
        ([(317, 178), (89, -11)], "tenths of a degree C", 31.7, 0.1),
        ([(89, 64), (48, 30)], "degrees F", (89 - 32) / 1.8, 25.4),
        ([(31.7, 17.8), (8.9, -1.1)], "degrees C", 31.7, 1),
    ],
)
def test_ncei_units_are_inferred_and_said(values, unit, tmax_c, rain_mm):
    record = read_daily_record(ncei(values))
    assert unit in record.units_inferred
    assert record.tmax_c[0] == pytest.approx(tmax_c)
    assert record.precip_mm[0] == pytest.approx(rain_mm)
    assert (record.station, record.latitude) == ("X", -31.2)


def test_a_winter_month_in_tenths_is_not_taken_for_fahrenheit():
    rows = "".join(f"X,p,1,1,1,2015-01-{d:02d},0,{60 + d},{-50 + d}\n" for d in range(1, 29))
    assert read_daily_record((NCEI + rows).encode()).tmax_c[0] == pytest.approx(6.1)


def test_stated_units_are_not_inferred():
    record = read_daily_record(ncei([(89, 64), (48, 30)]), units="F")
    assert record.units_inferred is None


def test_a_latitude_given_overrules_the_file():
    assert read_daily_record(ncei([(89, 64)]), latitude=40).latitude == 40


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (gzip.compress(b"", mtime=0), "empty"),
        (b"\x1f\x8b\x08nonsense", "damaged"),
        (gzip.compress(plain("date,tmin_c,tmax_c"), mtime=0)[:-12], "damaged"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "binary"),
        (bytes(range(128, 256)) * 4, "binary"),
        ("date,tmin_c".encode("utf-16"), "UTF-16"),
        ("date,tmin_c,tmax_c\nü".encode("latin-1"), "Line 2 .* UTF-8"),
        (b"hello world", "Line 1"),
        (b"<html><body>Not found</body></html>", "Line 1"),
        (b"a,b,c\n1,2,3", "'a,b,c'"),
        (b"date,tmin_c,tmax_c\n", "no days"),
        (b"date,tmin_c,rain\n2016-01-01,1,2", "lacks tmax"),
        (b"date,tmin_c\n2016-01-01,1", "lacks tmax"),
        (b"tmin_c,tmax_c,rain\n1,2,3", "lacks date"),
        (b"STATION,DATE,TMAX\nX,2016-01-01,30", "lacks TMIN"),
        (plain("date,tmin,tmax"), "tmin_c,tmax_c or tmin_f,tmax_f"),
        (plain("date,tmin_c,tmax_f"), "one and the same unit"),
        (plain("date,tmin_c,tmax"), "one and the same unit"),
        (plain("date,tmin_c,tmin_c"), "twice"),
        (plain("date,tmin_c,tmax_c", [("2016-02-30", 1, 2)]), "Line 2 .*2016-02-30.*YYYY-MM-DD"),
        (plain("date,tmin_c,tmax_c", [*ROWS, ("1/2/2016", 1, 2)]), "Line 5 .*YYYY-MM-DD"),
        (plain("date,tmin_c,tmax_c", [("0016-01-01", 1, 2)]), "Line 2"),
        (plain("date,tmin_c,tmax_c", [("2016-01-01", "cold", 2)]), "Line 2 .*'cold'"),
        (plain("date,tmin_c,tmax_c", [("2016-01-01", "inf", 2)]), "Line 2 .*'inf'"),
        (b'date;tmin_c;tmax_c\n2016-01-01;"1,5";2', "Line 2 .*decimal point"),
        (plain("date,tmin_c,tmax_c", [("2016-01-01", 1)]), "Line 2 has 2 columns"),
        (plain("date,tmin_c,tmax_c", [("2016-01-01", 1, 2, 3)]), "Line 2 has 4 columns"),
        (plain("date,tmin_c,tmax_c", [("2016-01-01", "", 2)]), "no usable daily minimum"),
        (b"STATION,DATE,TMAX,TMIN\nX,2016-01-01,99,60\nY,2016-01-02,99,60", "Line 3 .*'Y'"),
        (b"STATION,DATE,TMAX,TMIN\nX,2016-01-01,33,20\n", "does not state its units"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_said_in_one_sentence(data, words):
    with pytest.raises(RecordError, match=words) as caught:
        read_daily_record(data)
    text = str(caught.value)
    assert text.endswith(".")
    assert "\n" not in text
    assert len(text) < 300


def test_the_stated_units_are_checked_themselves():
    with pytest.raises(RecordError, match="state C, F or tenths"):
        read_daily_record(plain("date,tmin,tmax"), units="K")  # type: ignore[arg-type]
    with pytest.raises(RecordError, match="header says degrees F"):
        read_daily_record(plain("date,tmin_f,tmax_f"), units="C")
    with pytest.raises(RecordError, match="latitude"):
        read_daily_record(plain("date,tmin_f,tmax_f"), latitude=91)


@given(st.randoms(use_true_random=False))
def test_the_order_of_the_rows_does_not_matter(random):
    lines = csv(cosine_year("2001-01-01", "2001-12-31"))
    rows = lines[1:]
    random.shuffle(rows)
    shuffled = read_daily_record("\n".join([lines[0], *rows]).encode())
    sorted_ = read_daily_record("\n".join(lines).encode())
    assert np.array_equal(shuffled.dates, sorted_.dates)
    assert np.array_equal(shuffled.tmin_c, sorted_.tmin_c)
    assert np.array_equal(shuffled.tmax_c, sorted_.tmax_c)


STARTS = [
    b"date,tmin_c,tmax_c\n",
    b"STATION,DATE,TMAX,TMIN\nX,2016-01-01,",
    b"USC00259999201602TMIN",
    b"USC00259999,20160201,TMAX,100,,,7,0700\n",
    b"ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n",
    b"\x1f\x8b",
    b"",
]
TEXT = st.text("0123456789-,;. \nTMINAXPRC\"'\t\r_eé٣", max_size=80).map(str.encode)


def read_or_sentence(data):
    """The record, or the sentence of the one error that may be raised."""
    try:
        return read_daily_record(data)
    except RecordError as error:
        return str(error)


@given(st.sampled_from(STARTS), st.binary(max_size=80) | TEXT)
def test_no_bytes_raise_anything_but_a_record_error(start, rest):
    found = read_or_sentence(start + rest)
    if isinstance(found, str):
        assert found.endswith(".")
        assert "\n" not in found
    else:
        assert not np.isnan(found.tmin_c).all()
        assert np.all(np.diff(found.dates) > np.timedelta64(0, "D"))


@given(st.integers(0, 400), st.binary(min_size=1, max_size=3))
def test_a_damaged_file_raises_nothing_but_a_record_error(at, junk):
    data = "\n".join(csv(cosine_year("2001-01-01", "2001-01-20"))).encode()
    found = read_or_sentence(data[:at] + junk + data[at + 1 :])
    assert found.endswith(".") if isinstance(found, str) else found.dates.size <= 21
