"""Four years of Seattle and one of Lincoln: records in whole degrees F."""

import installed_records
import numpy as np
import pytest

from lifecycle.agronomy.freeze import freeze_grid, freeze_seasons
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise


@pytest.fixture(scope="module")
def seattle():
    return read_daily_record(installed_records.seattle_csv(), units="C", latitude=47.6)


@pytest.fixture(scope="module")
def lincoln():
    return read_daily_record(installed_records.lincoln_csv())


def test_seattle_was_written_in_whole_degrees_f(seattle):
    assert (seattle.native_unit, seattle.precision) == ("F", 1.0)


def test_seattle_zone(seattle):
    # Computed independently with numpy/pandas: 22.91 F.
    zone = summarise(seattle, window="calendar").zone
    assert zone.mean_extreme_min_f == pytest.approx(22.91, abs=0.0051)
    assert (zone.half_zone, zone.years, zone.status) == ("9a", 4, "indicative")


def test_seattle_freezes(seattle):
    # Computed independently with numpy/pandas and xclim (2015: day 63).
    found = freeze_seasons(freeze_grid(seattle, "north"), 32, "north", seattle.slack_f())
    assert found.last.tolist() == [78, 63, 40, 63]
    assert found.first.tolist() == [314, 325, 316, 327]
    assert np.median(found.freeze_free_days()) == 262


def test_exact_hits_on_28_f_count(seattle):
    # Computed independently with pandas: on the tenths as they stand the last night <= 28 F of
    # 2012 is day 19; on the whole degrees F behind them it is day 58. First of 2014: 333, 318.
    found = freeze_seasons(freeze_grid(seattle, "north"), 28, "north", seattle.slack_f())
    assert found.last[0] == 58
    assert found.first[2] == 318
    as_stored = np.array([-2.2, -4.4]) * 1.8 + 32
    assert as_stored[0] > 28
    assert as_stored[1] > 24


def test_seattle_warm_nights(seattle):
    # Computed independently with numpy/pandas: day 173..257.
    nights = summarise(seattle).warm_nights[55]
    assert (nights.start, nights.end) == ("06-22", "09-14")


def test_lincoln_file(lincoln):
    # NOAA NCEI daily summaries of USW00094996: 366 lines, 17 June 2016 blank.
    climate = summarise(lincoln, window="calendar")
    report = climate.as_report()["record"]
    assert lincoln.dates.size == 366
    assert report["station"] == "USW00094996"
    assert (report["first"], report["last"]) == ("2016-01-01", "2016-12-31")
    assert (report["missing"], report["rejected"], report["native_unit"]) == (1, 0, "F")
    blank = lincoln.dates[np.isnan(lincoln.tmin_c)]
    assert blank.astype(str).tolist() == ["2016-06-17"]
    assert "degrees F" in lincoln.units_inferred


def test_lincoln_dates(lincoln):
    # Computed independently with pandas: last <= 32 F 12 April, first 12 October, last <= 28 F
    # 9 April, lowest -13 F, which would be 5b.
    climate = summarise(lincoln, window="calendar")
    assert climate.freeze[32].spring.dates[50] == "04-12"
    assert climate.freeze[32].autumn.dates[50] == "10-12"
    assert climate.freeze[32].season_days[50] == 182
    assert climate.freeze[28].spring.dates[50] == "04-09"
    assert climate.zone.mean_extreme_min_f == pytest.approx(-13)
    assert (climate.zone.half_zone, climate.zone.status) == ("5b", "indicative")
    assert climate.zone.standard_error_f is None


def test_one_calendar_year_holds_no_whole_winter(lincoln):
    zone = summarise(lincoln).zone
    assert (zone.half_zone, zone.years) == (None, 0)
