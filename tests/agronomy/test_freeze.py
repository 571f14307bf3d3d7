"""Freeze dates, years without a freeze, gaps, leap days and both hemispheres."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_records import cosine_year, days, record, with_minima

from lifecycle.agronomy.day_of_year import day_from_month_day
from lifecycle.agronomy.freeze import (
    DECILES,
    THRESHOLDS_F,
    freeze_dates,
    freeze_grid,
    freeze_seasons,
    risk_position,
    whole_day,
)

DAYS = st.lists(st.integers(1, 212), min_size=1, max_size=60)
RISKS = st.floats(0.01, 0.99)


def one_year(changes, year=2001, base=20.0):
    dates = days(f"{year}-01-01", f"{year}-12-31")
    return with_minima(record(dates, np.full(dates.size, base)), changes)


def seasons(source, threshold_f=32, hemisphere="north"):
    grid = freeze_grid(source, hemisphere)
    return freeze_seasons(grid, threshold_f, hemisphere, source.slack_f())


def test_a_freeze_is_at_or_below_the_threshold():
    # NOAA NCEI agricultural normals: Tmin at or below the threshold.
    found = seasons(one_year({"2001-04-10": 0.0, "2001-05-01": 0.1, "2001-10-02": 0.0}))
    assert (found.last.tolist(), found.first.tolist()) == ([100], [275])
    assert found.freeze_free_days().tolist() == [174]


def test_whole_degrees_f_stored_as_tenths_of_c_hit_their_threshold():
    # 28 F is stored as -2.2 C, 24 F as -4.4 C (computed by hand: 28.04 F and 24.08 F).
    dates = days("2001-01-01", "2001-12-31")
    tmin = np.full(dates.size, 20.0)
    tmin[[60, 300]] = -2.2
    tmin[[40, 320]] = -4.4
    for more in ({"native_unit": "F", "precision": 1.0}, {"native_unit": "C", "precision": 0.1}):
        source = record(dates, tmin, **more)
        assert seasons(source, 28).last.tolist() == [61]
        assert seasons(source, 28).first.tolist() == [301]
        assert seasons(source, 24).last.tolist() == [41]
        assert seasons(source, 24).first.tolist() == [321]


def test_a_value_clearly_above_the_threshold_is_no_freeze():
    fine = one_year({"2001-04-10": -2.1, "2001-10-02": -2.1})
    assert np.isnan(seasons(fine, 28).last).all()


def test_the_split_parts_spring_from_autumn():
    found = seasons(one_year({"2001-07-31": -1.0, "2001-08-01": -1.0}))
    assert (found.last.tolist(), found.first.tolist()) == ([212], [213])
    assert found.freeze_free_days().tolist() == [0]


def test_the_southern_split_is_1_february():
    dates = days("2001-07-01", "2002-06-30")
    base = record(dates, np.full(dates.size, 20.0))
    found = seasons(with_minima(base, {"2002-01-31": -1.0, "2002-02-01": -1.0}), 32, "south")
    assert (found.last.tolist(), found.first.tolist()) == ([215], [216])


def test_a_leap_day_between_two_freezes_is_a_day():
    leap = seasons(one_year({"2004-02-10": -1.0, "2004-10-01": -1.0}, 2004))
    common = seasons(one_year({"2003-02-10": -1.0, "2003-10-01": -1.0}, 2003))
    assert leap.freeze_free_days() - common.freeze_free_days() == 1
    assert leap.freeze_free_days()[0] == (date(2004, 10, 1) - date(2004, 2, 10)).days - 1


def test_a_freeze_on_a_leap_day_counts_as_28_february():
    found = freeze_dates(one_year({"2004-02-29": -1.0}, 2004), 32, "north")
    assert found.spring.dates[50] == "02-28"


def test_a_gap_where_the_freeze_would_fall_is_not_passed_over():
    freezes = {"2001-04-10": -1.0, "2001-10-10": -1.0}
    near = {f"2001-04-{day:02d}": 4.0 for day in range(11, 25)}
    whole = {**freezes, **near}
    assert seasons(one_year(whole)).years.size == 1
    holed = {**whole, "2001-04-15": np.nan, "2001-04-16": np.nan}
    found = seasons(one_year(holed))
    assert (found.years.size, found.unknown) == (0, 1)
    # The same gap in midsummer, or before the last freeze, hides nothing.
    assert seasons(one_year({**whole, "2001-07-01": np.nan})).years.size == 1
    assert seasons(one_year({**whole, "2001-03-01": np.nan})).years.size == 1
    # A gap just before the first freeze of autumn hides an earlier one.
    assert seasons(one_year({**whole, "2001-10-08": np.nan})).unknown == 1


def test_a_year_with_seven_days_missing_does_not_count():
    gaps = {f"2001-07-{day:02d}": np.nan for day in range(1, 6)}
    assert seasons(one_year(gaps)).years.size == 1
    gaps["2001-07-06"] = np.nan
    assert seasons(one_year(gaps)).years.size == 0


def test_years_without_a_freeze_thin_out_the_risk():
    positions = np.array([10.0, 12, 18, 35, 50])
    assert risk_position(positions, 5 / 23, 0.1, "spring") == pytest.approx(20.72)
    assert risk_position(positions, 5 / 23, 0.3, "spring") is None
    assert risk_position(positions, 0.5, 0.5, "autumn") is None
    assert risk_position(np.array([]), 0.0, 0.1, "autumn") is None


@pytest.mark.parametrize("risk", [0, 1, -0.1, 1.5])
def test_a_risk_is_a_share(risk):
    with pytest.raises(ValueError, match="between 0 and 1"):
        risk_position(np.array([1.0]), 1.0, risk, "spring")


def test_half_days_go_the_careful_way():
    assert [whole_day(d, "spring") for d in (100.4, 100.5, 100.6)] == [100, 101, 101]
    assert [whole_day(d, "autumn") for d in (317.4, 317.5, 317.6)] == [317, 317, 318]


@given(DAYS, RISKS, RISKS)
def test_less_risk_is_later_in_spring_and_earlier_in_autumn(positions, one, other):
    low, high = sorted((one, other))
    sample = np.array(positions, dtype=float)
    assert (
        risk_position(sample, 1.0, low, "spring")
        >= risk_position(sample, 1.0, high, "spring") - 1e-9
    )
    assert (
        risk_position(sample, 1.0, low, "autumn")
        <= risk_position(sample, 1.0, high, "autumn") + 1e-9
    )


@given(DAYS, st.floats(0.05, 1.0), RISKS)
def test_a_date_lies_among_the_freezes_it_comes_from(positions, share, risk):
    sample = np.array(positions, dtype=float)
    for half in ("spring", "autumn"):
        day = risk_position(sample, share, risk, half)
        assert (day is None) == (risk >= share)
        if day is not None:
            assert sample.min() - 1e-9 <= day <= sample.max() + 1e-9


@given(st.lists(st.booleans(), min_size=2, max_size=40), RISKS)
def test_the_mixed_model_counts_years_without_a_freeze(freezes, risk):
    # Over all years, those with a freeze after the date are the risk asked for, to one year.
    days_of = np.array([20.0 + 3 * i for i, yes in enumerate(freezes) if yes])
    share = days_of.size / len(freezes)
    day = risk_position(days_of, share, risk, "spring")
    if day is not None:
        after = np.count_nonzero(days_of > day + 1e-9)
        assert abs(after - risk * len(freezes)) <= 1 + 1e-9


def test_deciles_run_in_order():
    for threshold in THRESHOLDS_F:
        found = freeze_dates(cosine_year(), threshold, "north")
        spring = [day_from_month_day(found.spring.dates[p]) for p in DECILES]
        autumn = [day_from_month_day(found.autumn.dates[p]) for p in DECILES]
        assert spring == sorted(spring, reverse=True)
        assert autumn == sorted(autumn)
        lengths = [found.season_days[p] for p in DECILES]
        assert lengths == sorted(lengths)


def test_colder_thresholds_freeze_earlier_in_spring():
    dates = [freeze_dates(cosine_year(), t, "north").spring.dates[50] for t in THRESHOLDS_F]
    assert dates == sorted(dates, reverse=True)
    assert len(set(dates)) == 4


def test_the_south_mirrors_the_north():
    # Moved by 181 days, a northern January to December becomes a southern July to June.
    north = cosine_year("2001-01-01", "2002-12-31")  # no leap day before or after the move
    moved = record(north.dates + 181, north.tmin_c)
    here, there = freeze_dates(north, 32, "north"), freeze_dates(moved, 32, "south")
    assert (here.years, there.years) == (2, 2)
    for side in ("spring", "autumn"):
        for p in DECILES:
            own = day_from_month_day(getattr(here, side).dates[p])
            other = day_from_month_day(getattr(there, side).dates[p])
            assert (other - own) % 365 == 181


def test_enough_years():
    found = freeze_dates(cosine_year("2001-01-01", "2012-12-31"), 32, "north")
    assert (found.years, found.enough(50), found.enough(10)) == (12, True, False)
