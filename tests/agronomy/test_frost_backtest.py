"""A frost rule rehearsed on made-up records."""

import json

import numpy as np
import pytest
from made_up_records import cosine_year, days, record
from refused import assert_bounds, refusal
from scipy.stats import norm

from lifecycle.agronomy.cost_loss import calls
from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.frost_backtest import (
    backtest,
    chances_by_other_years,
    exact_chances,
)
from lifecycle.agronomy.frost_backtest_text import as_text

FROSTY = cosine_year("2001-01-01", "2012-12-31")


@pytest.fixture(scope="module")
def test():
    return backtest(FROSTY, limit_c=0, ratio=0.05, error_sd=2.0)


def test_the_report_has_every_number(test):
    report = json.loads(json.dumps(test.as_report()))
    assert list(report)[:6] == [
        "nights",
        "killing_nights",
        "caught",
        "missed",
        "called_for_nothing",
        "calls_per_year",
    ]
    assert report["nights"] == FROSTY.dates.size
    assert report["killing_nights"] == int((FROSTY.tmin_c <= 0).sum())
    assert report["caught"] + report["missed"] == report["killing_nights"]
    called = report["caught"] + report["called_for_nothing"]
    years = FROSTY.dates.size / 365.25
    assert report["calls_per_year"] == round(called / years, 2)
    assert report["cost"]["ours"] == pytest.approx(0.05 * called + report["missed"], abs=1e-3)
    assert report["cost"]["always"] == pytest.approx(0.05 * FROSTY.dates.size, abs=1e-3)
    assert report["cost"]["never"] == report["killing_nights"]
    assert sum(row["n"] for row in report["reliability"]) == report["nights"]
    assert [row["one_in"] for row in report["curve"]] == [5, 10, 20, 50, 100]
    assert report["curve"][2]["calls_per_year"] == report["calls_per_year"]
    assert [row["one_in"] for row in report["miss_at_most"]] == [10, 20, 50, 100]
    for row in report["miss_at_most"]:
        assert row["missed_per_year"] * years <= report["killing_nights"] / row["one_in"] + 0.01
    evenings = [row["calls_per_year"] for row in report["miss_at_most"]]
    assert evenings == sorted(evenings)
    assert report["miss_at_most"][0]["cost_loss"] == round(test.miss_curve[0].ratio, 4)


def test_the_counts_are_those_of_its_chances(test):
    assert test.counts == calls(test.said, test.happened, 0.05)
    assert (test.happened == (FROSTY.tmin_c <= 0)).all()
    assert test.expense <= 1.05 * test.best
    assert ((test.said >= 0) & (test.said <= 1)).all()


def test_reliability_lies_in_its_tenths(test):
    rows = test.reliability
    assert [int(row.said * 10) for row in rows] == list(range(10))
    for row in rows:
        error = np.sqrt(row.said * (1 - row.said) / row.nights) + 1e-3
        assert abs(row.happened - row.said) < 4 * error, row


def test_farther_ahead_is_vaguer(test):
    assert [row.lead_days for row in test.by_lead] == [0, 1, 2, 3]
    assert [round(row.error_sd_c, 3) for row in test.by_lead] == [2.0, 2.828, 3.464, 4.0]
    assert test.by_lead[0].calls == test.counts
    expenses = [row.calls.expense(0.05) for row in test.by_lead]
    assert expenses[0] < expenses[-1]
    assert max(expenses) == expenses[-1]


def test_the_same_seed_gives_the_same_rehearsal(test):
    again = backtest(FROSTY, limit_c=0, ratio=0.05, error_sd=2.0)
    assert again.as_report() == test.as_report()
    other = backtest(FROSTY, limit_c=0, ratio=0.05, error_sd=2.0, seed=2)
    assert other.as_report() != test.as_report()


def test_no_year_helps_to_foretell_itself():
    """A year colder than all others is judged by the others: nothing of it leaks."""
    dates = days("2001-01-01", "2004-12-31")
    lows = np.where(dates.astype("M8[Y]") == np.datetime64("2004"), -10.0, 10.0)
    told = np.full((1, dates.size), 10.0)
    said = chances_by_other_years(dates, lows, told, np.array([2.0]), 0.0)[0]
    last = dates.astype("M8[Y]") == np.datetime64("2004")
    # 2004 sees only nights of 10 C; the others see some of -10 C too, which a forecast of 10 rules
    # out as well.
    assert said[last].max() < 1e-4
    exact = exact_chances(dates, lows, told[0], 20.0, 0.0)
    assert exact[last].max() == 0.0
    assert exact[~last].min() > 0.1


def test_a_season_no_other_year_knows_is_judged_by_the_forecast_alone():
    parts = [
        ("2001-01-01", "2001-03-31"),
        ("2002-07-01", "2002-09-30"),
        ("2003-10-15", "2003-12-31"),
    ]
    dates = np.concatenate([days(*part) for part in parts])
    lows = np.full(dates.size, 3.0)
    told = np.full((2, dates.size), 2.0)
    said = chances_by_other_years(dates, lows, told, np.array([2.0, 4.0]), 0.0)
    exact = exact_chances(dates, lows, told[0], 2.0, 0.0)
    summer = (dates >= np.datetime64("2002-07-01")) & (dates < np.datetime64("2002-09-25"))
    assert said[0, summer] == pytest.approx(norm.cdf(-1.0))
    assert said[1, summer] == pytest.approx(norm.cdf(-0.5))
    assert exact[summer] == pytest.approx(norm.cdf(-1.0))
    # The end of December and early January know each other: no frost there.
    january = dates == np.datetime64("2001-01-01")
    assert said[0, january] < 0.05
    assert exact[january] == 0.0
    gaps = backtest(record(dates, lows), limit_c=0, ratio=0.05, error_sd=2.0)
    assert gaps.counts.nights == dates.size


def test_a_year_is_a_round_through_the_days_the_record_has():
    whole = backtest(FROSTY, limit_c=0, ratio=0.05, error_sd=2.0)
    assert whole.years == pytest.approx(12.0, abs=0.01)
    winter = np.isin(FROSTY.dates.astype("M8[M]").astype(int) % 12, [0, 11])
    lows = np.where(winter, FROSTY.tmin_c, np.nan)
    alone = backtest(record(FROSTY.dates, lows), limit_c=0, ratio=0.05, error_sd=2.0)
    assert alone.years == pytest.approx(12.0, abs=0.01)
    assert alone.counts.nights == 12 * 62
    assert alone.as_report()["calls_per_year"] <= 62


def test_a_record_without_frost_has_nothing_to_call():
    warm = backtest(
        cosine_year("2001-01-01", "2005-12-31", mean=20, swing=2),
        limit_c=-5,
        ratio=0.05,
        error_sd=1,
    )
    assert warm.counts.came == 0
    assert warm.expense <= 0.05 * warm.counts.nights
    assert "there is nothing to call" in as_text(warm)
    assert [point.caught_share for point in warm.curve] == [None] * 5
    assert warm.as_report()["miss_at_most"] == []
    assert "To miss at most" not in as_text(warm)


def test_whole_degrees_f_meet_the_limit_they_were_read_at():
    """30 F kept as tenths of a degree C is -1.1 C; so is a limit of 30 F, -1.11 C."""
    dates = days("2001-01-01", "2004-12-31")
    whole = record(dates, np.full(dates.size, -1.1), native_unit="F", precision=1.0)
    tenths = record(dates, np.full(dates.size, -1.1), native_unit="C", precision=0.1)
    limit = -10 / 9
    assert backtest(whole, limit_c=limit, ratio=0.05, error_sd=1).happened.all()
    assert not backtest(tenths, limit_c=limit, ratio=0.05, error_sd=1).happened.any()


def test_text_for_people(test):
    text = as_text(test)
    assert text.startswith("The rule caught ")
    assert "act from a chance of 1 in 20 on" in text
    assert f"{test.counts.nights} nights" in text
    assert "1 in 100" in text
    at = text.splitlines().index("To miss at most one killing night in so many:")
    assert text.splitlines()[at + 2].split()[0] == "10"
    assert f"{test.best:.1f}   Bayes' rule" in text
    assert text.splitlines()[-5] == "  days   error C   caught   missed   for nothing"


def test_what_cannot_be_is_refused():
    short = cosine_year("2001-01-01", "2002-12-31")
    with pytest.raises(RecordError, match="needs 3 years of nights and there are 2"):
        backtest(short, limit_c=0, ratio=0.05, error_sd=1)
    three = cosine_year("2001-01-01", "2003-12-31")

    def rehearse(limit_c=0.0, ratio=0.05, error_sd=1.0):
        return backtest(three, limit_c=limit_c, ratio=ratio, error_sd=error_sd)

    assert_bounds(lambda limit: rehearse(limit_c=limit), "The limit", -60, 40, "C")
    assert_bounds(lambda ratio: rehearse(ratio=ratio), "Cost over loss", 0.001, 1)
    assert_bounds(lambda sd: rehearse(error_sd=sd), "The forecast error", 0.1, 10, "C")
    assert "is missing" in refusal(lambda: rehearse(error_sd=float("nan")))
