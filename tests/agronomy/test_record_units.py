"""Impossible, mixed and hidden units."""

import numpy as np
import pytest
from made_up_records import cosine_year

from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.record_reader import read_daily_record

SOURCE = cosine_year("2001-01-01", "2008-12-31")


def written(unit_of_day, header):
    """The source as CSV, each day in the unit that `unit_of_day(index)` names."""
    lines = [f"date,tmin_{header},tmax_{header}"]
    for index, day in enumerate(SOURCE.dates):
        low, high = SOURCE.tmin_c[index], SOURCE.tmax_c[index]
        if unit_of_day(index) == "f":
            lines.append(f"{day},{low * 1.8 + 32:.0f},{high * 1.8 + 32:.0f}")
        elif unit_of_day(index) == "tenths":
            lines.append(f"{day},{low * 10:.0f},{high * 10:.0f}")
        else:
            lines.append(f"{day},{low:.1f},{high:.1f}")
    return "\n".join(lines).encode()


@pytest.mark.parametrize(
    ("really", "stated", "advice"),
    [
        ("f", "c", "state degrees F instead"),
        ("tenths", "c", "state tenths of a degree C instead"),
        ("tenths", "f", "state tenths of a degree C instead"),
        ("c", "tenths", "state C or F instead"),
        ("c", "f", "state C instead"),
    ],
)
def test_units_that_cannot_be_true_are_refused(really, stated, advice):
    with pytest.raises(RecordError, match=advice) as caught:
        read_daily_record(written(lambda _: really, stated))
    assert "ine " in str(caught.value)


def test_the_first_offending_line_is_named():
    rows = [f"2016-07-{day:02d},20,{75 + day}" for day in range(1, 29)]
    data = "\n".join(["date,tmin_c,tmax_c", "2016-06-30,10,50", *rows]).encode()
    with pytest.raises(RecordError, match=r"^Line 3 has 76, .* state degrees F"):
        read_daily_record(data)


@pytest.mark.parametrize("stated", ["c", "f"])
@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
@pytest.mark.parametrize("first", ["c", "f"])
def test_a_file_that_changes_its_unit_is_refused(stated, share, first):
    turn = int(SOURCE.dates.size * share)
    other = "c" if first == "f" else "f"
    with pytest.raises(RecordError):
        read_daily_record(written(lambda index: first if index < turn else other, stated))


def test_one_year_that_changes_its_unit_in_summer_is_refused():
    # Too short to hold a month against the same month of other years.
    lines = written(lambda index: "f" if index < 200 else "c", "f").decode().split("\n")[:240]
    with pytest.raises(RecordError, match="change their unit at or near 2001-07-"):
        read_daily_record("\n".join(lines).encode())


@pytest.mark.parametrize("stated", ["c", "f"])
def test_scattered_days_in_another_unit_are_refused(stated):
    other = "f" if stated == "c" else "c"
    with pytest.raises(RecordError):
        read_daily_record(written(lambda index: other if index % 25 == 0 else stated, stated))


@pytest.mark.parametrize("stated", ["c", "f"])
def test_a_single_summer_day_in_another_unit_is_dropped_and_counted(stated):
    at = int(np.flatnonzero(SOURCE.dates == np.datetime64("2004-07-15"))[0])
    other = "f" if stated == "c" else "c"
    record = read_daily_record(written(lambda index: other if index == at else stated, stated))
    assert sum(record.rejected.values()) >= 1
    assert np.isnan(record.tmax_c[at])


@pytest.mark.parametrize("unit", ["c", "f", "tenths"])
def test_a_file_in_one_unit_is_read_whole(unit):
    record = read_daily_record(written(lambda _: unit, unit))
    assert record.rejected == {}
    assert record.tmin_c == pytest.approx(SOURCE.tmin_c, abs=0.3)


def test_whole_degrees_f_behind_tenths_of_c_are_recognised():
    whole = np.rint(SOURCE.tmin_c * 1.8 + 32)
    rows = [
        f"{day},{(low - 32) / 1.8:.1f},{(low - 12) / 1.8:.1f}"
        for day, low in zip(SOURCE.dates, whole, strict=True)
    ]
    record = read_daily_record("\n".join(["date,tmin_c,tmax_c", *rows]).encode())
    assert (record.native_unit, record.precision) == ("F", 1.0)
    assert np.array_equal(record.minima_f(), whole)
    plain = read_daily_record(written(lambda _: "c", "c"))
    assert (plain.native_unit, plain.precision) == ("C", 0.1)
    assert plain.slack_f() == pytest.approx(0.09)
