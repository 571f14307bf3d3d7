"""The whole summary: report, store, notes, and what short or odd records give."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_records import cosine_year, csv, days, record, with_minima

from lifecycle.agronomy.climate_text import climate_text
from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.hemisphere import hemisphere_of
from lifecycle.agronomy.quality import flat_runs
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import ClimateSummary, summarise

SHORT = record(days("2001-01-01", "2001-01-03"), [-5.0, -6.0, -7.0])


def test_the_report_has_exactly_these_keys():
    report = summarise(cosine_year()).as_report()
    assert list(report) == ["record", "zone", "freeze", "warm_nights"]
    assert list(report["record"]) == [
        "format", "station", "first", "last", "days", "missing", "rejected", "flat_runs",
        "native_unit",
    ]  # fmt: skip
    assert list(report["zone"]) == [
        "half_zone", "mean_extreme_min_f", "mean_extreme_min_c", "years", "window",
        "standard_error_f", "status", "near_edge",
    ]  # fmt: skip
    assert set(report["freeze"]) == {"36", "32", "28", "24"}
    for limit in report["freeze"].values():
        assert list(limit) == ["years", "spring", "autumn", "season_days"]
        assert list(limit["spring"]) == list(limit["autumn"]) == ["share", "p10", "p50", "p90"]
        assert list(limit["season_days"]) == ["p10", "p50", "p90"]
    assert set(report["warm_nights"]) == {"50", "55", "60"}
    for limit in report["warm_nights"].values():
        assert list(limit) == ["start", "end", "risk10"]


@given(st.sampled_from(["season", "calendar"]), st.integers(0, 10_000), st.integers(1, 1500))
@settings(max_examples=30)
def test_the_store_gives_the_same_summary_back(window, start, length):
    source = cosine_year()
    part = record(source.dates[start : start + length], source.tmin_c[start : start + length])
    summary = summarise(part, window=window)
    stored = json.loads(json.dumps(summary.as_stored(), allow_nan=False))
    assert ClimateSummary.from_stored(stored) == summary
    assert json.dumps(summary.as_report(), allow_nan=False)
    assert climate_text(summary)


def test_three_days_give_nulls():
    report = summarise(SHORT).as_report()
    assert report["zone"] == {
        "half_zone": None,
        "mean_extreme_min_f": None,
        "mean_extreme_min_c": None,
        "years": 0,
        "window": "season",
        "standard_error_f": None,
        "status": "indicative",
        "near_edge": False,
    }
    assert report["freeze"]["32"] == {
        "years": 0,
        "spring": dict.fromkeys(["share", "p10", "p50", "p90"]),
        "autumn": dict.fromkeys(["share", "p10", "p50", "p90"]),
        "season_days": dict.fromkeys(["p10", "p50", "p90"]),
    }
    assert report["warm_nights"]["55"] == dict.fromkeys(["start", "end", "risk10"])
    assert report["record"]["days"] == 3


def test_missing_days_are_the_span_less_the_usable_minima():
    source = with_minima(cosine_year("2001-01-01", "2001-12-31"), {"2001-03-05": np.nan})
    keep = source.dates != np.datetime64("2001-03-09")
    holed = record(source.dates[keep], source.tmin_c[keep])
    found = summarise(holed).record
    assert (found.days, found.missing) == (363, 2)


def test_the_years_narrow_the_record():
    found = summarise(cosine_year(), first_year=2003, last_year=2012).record
    assert (str(found.first), str(found.last)) == ("2003-01-01", "2012-12-31")


@pytest.mark.parametrize(("first", "last"), [(2010, 2005), (1950, 1960), (2040, None)])
def test_years_that_make_no_sense(first, last):
    with pytest.raises(RecordError, match="year"):
        summarise(cosine_year(), first_year=first, last_year=last)


@pytest.mark.parametrize("latitude", [-91, 91, float("nan")])
def test_a_latitude_that_makes_no_sense(latitude):
    with pytest.raises(RecordError, match="latitude"):
        summarise(cosine_year(), latitude=latitude)


def test_where_the_hemisphere_comes_from():
    north, south = cosine_year(), cosine_year(south=True)
    assert hemisphere_of(north)[0] == "north"
    assert hemisphere_of(south)[0] == "south"
    assert hemisphere_of(north, -5)[0] == "south"
    level = record(north.dates, np.full(north.dates.size, 20.0))
    side, sentence = hemisphere_of(level)
    assert side == "north"
    assert "does not tell" in sentence
    assert hemisphere_of(SHORT)[0] == "north"


def test_flat_runs_need_consecutive_days_and_both_values():
    dates = days("2001-01-01", "2001-01-10")
    runs = flat_runs(record(dates, [1, 2, 2, 2, 2, 3, 4, 4, 4, 5]))
    assert [(str(run.start), str(run.end), run.days) for run in runs] == [
        ("2001-01-02", "2001-01-05", 4)
    ]
    gap = np.delete(dates, 3)
    assert flat_runs(record(gap, [1, 2, 2, 2, 3, 4, 4, 4, 5])) == ()
    blank = record(dates, [np.nan] * 10)
    assert flat_runs(blank) == ()


def test_notes_say_what_was_dropped_and_how_thin_it_is():
    lines = csv(cosine_year("2001-01-01", "2003-12-31"))
    lines[10] = lines[10].split(",")[0] + ",-96,2"
    lines.append(lines[20])
    del lines[40]
    summary = summarise(read_daily_record("\n".join(lines).encode()))
    notes = " ".join(summary.notes)
    assert "Dropped 1 value: 1 impossible as an air temperature." in notes
    assert "2 repeated values counted once." in notes
    assert "2 days between 2001-01-01 and 2003-12-31 have no usable minimum." in notes
    assert "only indicative: it rests on 2 years" in notes
    assert "not enough data for a median" in notes
    assert summary.record.rejected_values == 1


def test_the_text_marks_thin_years_and_missing_dates():
    text = climate_text(summarise(cosine_year("2001-01-01", "2003-12-31", mean=16.0)))
    assert "*" in text
    assert "not enough data" in text
    assert " - " in text
    assert "no such date" in text
    assert max(map(len, text.splitlines())) <= 100


def test_the_same_record_gives_the_same_summary():
    assert summarise(cosine_year()).as_stored() == summarise(cosine_year()).as_stored()
