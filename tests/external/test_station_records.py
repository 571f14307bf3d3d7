"""Daily records of six places; numbers computed independently with numpy and pandas.

A freeze is Tmin <= T, the year is split on 1 August, a year needs 360 days, quantiles are type 7.
"""

from functools import cache
from statistics import NormalDist

import installed_records
import numpy as np
import pytest

from lifecycle.agronomy.freeze import freeze_grid, freeze_seasons, risk_position
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise


@cache
def record(name):
    return read_daily_record(installed_records.aquacrop_csv(name))


@cache
def seasons(name, threshold_f, hemisphere="north"):
    grid = freeze_grid(record(name), hemisphere)
    return freeze_seasons(grid, threshold_f, hemisphere, record(name).slack_f())


def deciles(side):
    return [side.dates[p] for p in (10, 50, 90)]


# Computed independently with numpy/pandas: mean yearly minimum in degrees F by window.
@pytest.mark.parametrize(
    ("name", "window", "first", "last", "years", "mean_f", "zone"),
    [
        ("champion", "calendar", None, None, 37, -16.80, "5a"),
        ("champion", "season", None, None, 36, -17.11, "5a"),
        ("champion", "calendar", 1991, 2018, 28, -15.65, "5a"),
        ("champion", "season", 1991, 2018, 27, -16.12, "5a"),
        ("brussels", "calendar", None, None, 30, 16.448, "8b"),
        ("brussels", "season", None, None, 29, 16.51, "8b"),
        ("cambridge", "calendar", 1991, 2020, 30, 23.04, "9a"),
        ("tunis", "calendar", 1979, 2001, 23, 33.66, "10a"),
        ("tunis", "season", 1979, 2001, 22, 33.92, "10a"),
        ("hyderabad", "calendar", None, None, 11, 44.63, "11a"),
        ("cordoba", "calendar", 1991, 2020, 30, 25.93, "9b"),
        ("cordoba", "season", 1991, 2020, 30, 25.93, "9b"),
    ],
)
def test_zone(name, window, first, last, years, mean_f, zone):
    found = summarise(record(name), window=window, first_year=first, last_year=last).zone
    assert (found.years, found.half_zone) == (years, zone)
    assert found.mean_extreme_min_f == pytest.approx(mean_f, abs=0.0051)


def test_the_window_moves_hyderabad_by_a_half_zone():
    # Computed independently with numpy/pandas: 44.63 F = 11a by calendar year, 45.66 F = 11b by
    # July to June.
    calendar = summarise(record("hyderabad"), window="calendar").zone
    season = summarise(record("hyderabad"), window="season").zone
    assert (calendar.half_zone, season.half_zone) == ("11a", "11b")
    assert season.mean_extreme_min_f == pytest.approx(45.66, abs=0.005)
    assert (calendar.window, season.window) == ("calendar", "season")


def test_brussels_in_the_period_of_the_2012_map():
    # The 30 yearly minima of 1976-2005, the period of the USDA 2012 map; computed independently
    # with numpy/pandas: mean 16.448 F.
    minima = (
        "-9.9 -4.6 -10.0 -13.9 -7.8 -8.1 -11.8 -6.6 -5.1 -16.8 -10.7 -13.5 -5.9 -4.8 -2.5 "
        "-13.1 -6.2 -8.4 -8.0 -7.3 -13.1 -14.1 -9.4 -7.3 -4.4 -6.5 -7.0 -8.6 -6.8 -7.0"
    )
    zone = summarise(record("brussels"), window="calendar").zone
    found = [(low - 32) / 1.8 for _, low in zone.annual_minima_f]
    assert found == pytest.approx([float(each) for each in minima.split()])
    assert zone.mean_extreme_min_f == pytest.approx(16.448, abs=0.001)
    assert zone.half_zone == "8b"


def test_champion_uncertainty():
    # Computed independently with numpy/pandas: sd 6.65 F over 37 years.
    zone = summarise(record("champion"), window="calendar").zone
    assert zone.standard_error_f == pytest.approx(6.65 / np.sqrt(37), abs=0.005)
    assert zone.status == "firm"
    assert not zone.near_edge
    assert zone.zone_range() == ("5a", "5a")


# Computed independently with numpy/pandas. 28 F holds only if -2.22 C counts as 28 F.
@pytest.mark.parametrize(
    ("threshold_f", "spring", "autumn"),
    [
        (36, ["06-01", "05-17", "05-06"], ["09-13", "09-22", "09-29"]),
        (32, ["05-25", "05-09", "04-27"], ["09-17", "09-28", "10-09"]),
        (28, ["05-10", "04-27", "04-11"], ["09-27", "10-09", "10-19"]),
    ],
)
def test_champion_freeze_dates(threshold_f, spring, autumn):
    found = summarise(record("champion")).freeze[threshold_f]
    assert found.years == 37
    assert (found.spring.share, found.autumn.share) == (1, 1)
    assert deciles(found.spring) == spring
    assert deciles(found.autumn) == autumn


def test_champion_raw_quantiles():
    # Computed independently with numpy: type 7 116.6/129/145.4, season 120.2/140/159.4, mean
    # 129.405, sd 12.504.
    found = seasons("champion", 32)
    assert np.quantile(found.last, [0.1, 0.5, 0.9]) == pytest.approx([116.6, 129, 145.4])
    assert found.last.mean() == pytest.approx(129.405, abs=5e-4)
    assert found.last.std(ddof=1) == pytest.approx(12.504, abs=5e-4)
    days = summarise(record("champion")).freeze[32].season_days
    assert [days[p] for p in (10, 50, 90)] == pytest.approx([120.2, 140, 159.4])


def test_brussels_half_day_ties_go_the_careful_way():
    # Computed independently with numpy: medians 100.5 and 317.5 (10 or 11 April, 13 or 14
    # November), season median 214.5, means 97.633 and 319.633, sd 17.723 and 16.091.
    found = seasons("brussels", 32)
    assert np.median(found.last) == 100.5
    assert np.median(found.first) == 317.5
    assert (found.last.mean(), found.first.mean()) == pytest.approx((97.633, 319.633), abs=5e-4)
    assert found.last.std(ddof=1) == pytest.approx(17.723, abs=5e-4)
    assert found.first.std(ddof=1) == pytest.approx(16.091, abs=5e-4)
    climate = summarise(record("brussels")).freeze[32]
    assert deciles(climate.spring) == ["04-29", "04-11", "03-11"]
    assert deciles(climate.autumn) == ["10-30", "11-13", "12-02"]
    assert climate.season_days[50] == 214.5


def test_cambridge_freeze_dates():
    # Computed independently with numpy/pandas, 1991-2021.
    climate = summarise(record("cambridge")).freeze[32]
    assert deciles(climate.spring) == ["05-07", "04-14", "03-25"]
    assert deciles(climate.autumn) == ["10-28", "11-17", "12-09"]
    assert climate.season_days[50] == 211


def test_tunis_mixed_model():
    # Computed independently with numpy. 36 F: 18 of 23 springs freeze; 10 % 101.69, 20 % 75.0,
    # 50 % 36.53. 32 F: 5 of 23; 10 % 20.72, 50 % does not exist.
    last = seasons("tunis", 36).last
    freezes = np.sort(last[~np.isnan(last)])
    expected = [2, 9, 18, 18, 26, 29, 35, 46, 50, 53, 65, 67, 75, 75, 81, 106, 108, 130]
    assert freezes.tolist() == expected
    share = freezes.size / last.size
    assert share == pytest.approx(0.7826, abs=5e-5)
    for risk, day in [(0.1, 101.69), (0.2, 75.0), (0.5, 36.53)]:
        assert risk_position(freezes, share, risk, "spring") == pytest.approx(day, abs=0.005)
    last = seasons("tunis", 32).last
    freezes = np.sort(last[~np.isnan(last)])
    assert freezes.tolist() == [10, 12, 18, 35, 50]
    assert risk_position(freezes, 5 / 23, 0.1, "spring") == pytest.approx(20.72, abs=0.005)
    assert risk_position(freezes, 5 / 23, 0.5, "spring") is None
    assert np.count_nonzero(~np.isnan(seasons("tunis", 32).first)) == 2


def test_a_place_without_freezes_has_no_freeze_dates():
    # Computed independently with numpy/pandas: Hyderabad never freezes in 2000-2010.
    climate = summarise(record("hyderabad")).freeze[32]
    assert (climate.years, climate.spring.share) == (11, 0)
    assert set(climate.spring.dates.values()) == {None}
    assert set(climate.season_days.values()) == {None}


def test_cordoba_is_southern_by_its_own_yearly_cycle():
    climate = summarise(record("cordoba"))
    assert climate.hemisphere == "south"
    assert any("southern" in note for note in climate.notes)


def test_cordoba_season_dates():
    # Computed independently with numpy/pandas over July to June, freeze seasons only: last
    # 17 Sep / 27 Aug / 6 Aug, first 30 May / 14 Jun / 26 Jun, season median 291.5 days. A season
    # day of ours is one of the 365-day year, so a first freeze may stand one day earlier.
    found = seasons("cordoba", 32, "south")
    last, first = (
        np.nanquantile(found.last, [0.9, 0.5, 0.1]),
        np.nanquantile(found.first, [0.1, 0.5, 0.9]),
    )
    assert np.rint(last).tolist() == [79, 58, 37]  # days since 1 July
    assert first == pytest.approx([334, 349, 361], abs=1)
    assert np.median(found.freeze_free_days()) == 291.5


# Computed independently with numpy/pandas: 15-day circular mean of the whole record, start and end
# day of year in the comment.
@pytest.mark.parametrize(
    ("name", "limit_f", "start", "end"),
    [
        ("champion", 50, "06-01", "09-09"),  # 152..252
        ("champion", 55, "06-18", "08-29"),  # 169..241
        ("brussels", 50, "05-27", "09-28"),  # 147..271
        ("brussels", 55, "06-30", "08-25"),  # 181..237
        ("tunis", 50, "04-04", "11-24"),  # 94..328
        ("tunis", 55, "05-06", "11-09"),  # 126..313
    ],
)
def test_warm_nights(name, limit_f, start, end):
    nights = summarise(record(name)).warm_nights[limit_f]
    assert (nights.start, nights.end) == (start, end)


def test_the_risk_date_can_be_never():
    # Computed independently with numpy/pandas: in Champion and Brussels the last night below 55 F
    # piles up against 1 August (90 % quantile on it); in Tunis it is 15 June.
    assert summarise(record("champion")).warm_nights[55].risk10 == "never"
    assert summarise(record("brussels")).warm_nights[55].risk10 == "never"
    tunis = summarise(record("tunis"), first_year=1979, last_year=2001).warm_nights[55]
    assert tunis.risk10 == "06-15"


def test_flat_fills_of_the_champion_copy_are_found():
    # Counted independently with pandas: three runs of 4 or more identical days in CP.dat.
    climate = summarise(read_daily_record(installed_records.champion_with_fills_csv()))
    runs = [(str(run.start), str(run.end), run.days) for run in climate.record.flat_runs]
    assert runs == [
        ("1982-02-05", "1982-03-28", 52),
        ("1982-04-06", "1982-05-02", 27),
        ("1982-08-18", "1982-08-22", 5),
    ]
    assert any("possibly a filled gap" in note for note in climate.notes)


def test_the_champion_copy_gives_earlier_springs():
    # Computed independently with numpy/pandas for CP.dat, 1982-2018.
    record = read_daily_record(installed_records.champion_with_fills_csv())
    climate = summarise(record, window="calendar", first_year=1982, last_year=2018)
    assert climate.zone.mean_extreme_min_f == pytest.approx(-16.80, abs=0.005)
    assert deciles(climate.freeze[32].spring) == ["05-19", "05-06", "04-27"]
    assert deciles(climate.freeze[32].autumn) == ["09-17", "09-28", "10-09"]
    assert climate.freeze[32].season_days[50] == 141


def test_champion_springs_as_a_normal_distribution():
    # Computed independently with numpy and scipy: one year in ten freezes after day 145.43, beside
    # 145.4 by the quantile that is used.
    last = seasons("champion", 32).last
    normal = NormalDist(last.mean(), last.std(ddof=1))
    assert normal.inv_cdf(0.9) == pytest.approx(145.43, abs=0.005)
