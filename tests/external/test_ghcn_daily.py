"""Lines built from NOAA NCEI's published GHCN-Daily column table (readme.txt, section III).

ID 1-11, YEAR 12-15, MONTH 16-17, ELEMENT 18-21, then 31 times VALUE (5), MFLAG, QFLAG, SFLAG from
column 22 on; tenths of degrees C, -9999 missing, a non-blank QFLAG is a failed check.
"""

import gzip

import numpy as np
import pytest

from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.record_reader import read_daily_record

STATION = "USC00259999"


def dly_line(element, values, year=2016, month=2):
    """One line; `values` maps the day to its eight columns, every other day is missing."""
    days = "".join(values.get(day, "-9999   ") for day in range(1, 32))
    line = f"{STATION}{year:04d}{month:02d}{element}{days}"
    assert len(line) == 269  # VALUE31 stands in columns 262-266, its flags end the line
    return line


def value(tenths, flags="   "):
    return f"{tenths:5d}{flags}"


MINIMA = dly_line(
    "TMIN", {1: value(-22), 2: "-9999   ", 3: value(-44, " X "), 4: value(-44), 29: value(0, "  W")}
)
MAXIMA = dly_line("TMAX", {1: value(100), 2: value(50), 3: value(60), 4: value(39), 29: value(80)})
RAIN = dly_line("PRCP", {1: value(25)})
FILE = "\n".join([MAXIMA, MINIMA, RAIN, dly_line("SNOW", {1: value(0)})])


def tmin(record, day):
    return record.tmin_c[record.dates == np.datetime64(day)][0]


def test_values_flags_and_missing():
    record = read_daily_record(FILE.encode())
    assert (record.format, record.station) == ("GHCN-Daily .dly", STATION)
    assert tmin(record, "2016-02-01") == pytest.approx(-2.2)  # columns 22-26 "  -22"
    assert np.isnan(tmin(record, "2016-02-02"))  # -9999
    assert np.isnan(tmin(record, "2016-02-03"))  # QFLAG X
    assert tmin(record, "2016-02-29") == 0  # the source flag W is no fault
    assert record.rejected == {"marked bad by a quality flag": 1}
    assert record.precip_mm[0] == pytest.approx(2.5)


def test_gzip_windows_line_ends_and_trailing_blanks():
    packed = gzip.compress((FILE.replace("\n", "\r\n") + "\r\n\r\n").encode())
    record, plain = read_daily_record(packed), read_daily_record(FILE.encode())
    assert np.array_equal(record.tmin_c, plain.tmin_c, equal_nan=True)
    assert np.array_equal(record.dates, plain.dates)


def test_lines_whose_trailing_spaces_were_stripped():
    short = "\n".join(line.rstrip() for line in FILE.split("\n"))
    record = read_daily_record(short.encode())
    assert tmin(record, "2016-02-04") == pytest.approx(-4.4)


def test_a_value_on_30_february_is_dropped_and_counted():
    odd = dly_line("TMIN", {1: value(-22), 30: value(10)})
    record = read_daily_record(odd.encode())
    assert record.rejected == {"on a day the month does not have": 1}
    assert record.dates.size == 1


LONG = f"""{STATION},20160201,TMAX,100,,,7,0700
{STATION},20160201,TMIN,-22,,,7,0700
{STATION},20160201,PRCP,25,,,7,
{STATION},20160203,TMIN,-44,,X,7,0700
{STATION},20160204,TMIN,-44,,,7,0700
"""


@pytest.mark.parametrize(
    "header", ["", "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"]
)
def test_long_csv(header):
    record = read_daily_record((header + LONG).encode())
    assert record.dates.astype(str).tolist() == ["2016-02-01", "2016-02-03", "2016-02-04"]
    assert tmin(record, "2016-02-01") == pytest.approx(-2.2)
    assert np.isnan(tmin(record, "2016-02-03"))
    assert record.rejected == {"marked bad by a quality flag": 1}


WIDE = """"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","TMAX","TMAX_ATTRIBUTES",\
"TMIN","TMIN_ATTRIBUTES"
"USC00259999","2016-02-01","40.4","-101.7","1072.0","PLACE, NE US","  100",",,7","  -22",",,7"
"USC00259999","2016-02-03","40.4","-101.7","1072.0","PLACE, NE US","   60",",,7","  -44",",X,7"
"USC00259999","2016-02-04","40.4","-101.7","1072.0","PLACE, NE US","   39",",,7","  -44",",,7,0700"
"""


def test_wide_csv_with_attributes():
    record = read_daily_record(WIDE.encode())
    assert tmin(record, "2016-02-01") == pytest.approx(-2.2)
    assert np.isnan(tmin(record, "2016-02-03"))
    assert tmin(record, "2016-02-04") == pytest.approx(-4.4)
    assert record.latitude == 40.4
    assert record.rejected == {"marked bad by a quality flag": 1}


def test_a_broken_line_is_named():
    with pytest.raises(RecordError, match=r"^Line 2"):
        read_daily_record((MAXIMA + "\nnot a line\n").encode())


def test_units_cannot_be_stated_against_the_format():
    with pytest.raises(RecordError, match="tenths"):
        read_daily_record(FILE.encode(), units="F")
