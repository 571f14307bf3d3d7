"""What a forecast means for a site: its nights by season, and their combination."""

import json
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_records import cosine_year, days
from refused import assert_bounds, refusal
from scipy.special import ndtr

from lifecycle.agronomy.forecast_errors import ForecastError, known_error
from lifecycle.agronomy.night_odds import chances, low_after, season_of_counts
from lifecycle.agronomy.night_prior import (
    NightPrior,
    by_day,
    prior_of,
    prior_of_nights,
    season_of,
    windowed,
)

WINTER, SUMMER = date(2026, 1, 15), date(2026, 7, 15)
COLD = prior_of(cosine_year(mean=8, swing=14))
MILD = prior_of(cosine_year(mean=16, swing=4))
TWO = known_error(2.0)


def test_seasons_run_from_the_first_day_to_the_last():
    dates = np.array(["2026-01-01", "2026-01-05", "2026-01-06", "2026-12-31"], dtype="M8[D]")
    assert list(season_of(dates)) == [0, 0, 1, 72]
    assert season_of(np.datetime64("2028-02-29")) == season_of(np.datetime64("2028-02-28"))


def test_a_window_holds_fifteen_days_on_either_side_round_the_year():
    one = np.zeros((365, 1), dtype=np.int64)
    one[0] = 1  # 1 January
    held = np.flatnonzero(windowed(one)[:, 0])
    # Centres are days 3, 8, .. 363: within 15 days of day 1 lie 3, 8, 13 and 353, 358, 363.
    assert [int(row) * 5 + 3 for row in held] == [3, 8, 13, 353, 358, 363]
    edge = np.zeros((365, 1), dtype=np.int64)
    edge[17] = 1  # day 18, fifteen days from day 3
    assert windowed(edge)[0, 0] == 1
    edge = np.roll(edge, 1, axis=0)
    assert windowed(edge)[0, 0] == 0


def test_counts_by_hand():
    dates = np.array(["2026-01-01", "2026-01-01", "2026-01-02"], dtype="M8[D]")
    table = by_day(dates, np.array([0, 2, 2]), 3)
    assert table.shape == (365, 3)
    assert table[0].tolist() == [1, 0, 1]
    assert table[1].tolist() == [0, 0, 1]
    assert table.sum() == 3


def test_a_prior_counts_all_its_nights():
    record = cosine_year("2001-01-01", "2010-12-31")
    prior = prior_of(record)
    assert (prior.years, prior.nights) == (10, record.dates.size)
    assert prior.counts.shape[0] == 73
    # 31 days of ten years; 29 February may add its own.
    assert set(prior.counts.sum(axis=1)) <= {310, 311, 312}
    assert prior.lows_c()[0] == pytest.approx(np.round(record.tmin_c.min() * 2) / 2)
    assert prior.lows_c()[1] - prior.lows_c()[0] == 0.5
    mean = float(prior.season(WINTER) @ prior.lows_c()) / prior.season(WINTER).sum()
    assert mean == pytest.approx(-6, abs=0.6)


def test_kept_and_read_again_it_is_the_same():
    stored = json.loads(json.dumps(COLD.as_stored()))
    again = NightPrior.from_stored(stored)
    assert again.as_stored() == COLD.as_stored()
    assert (again.counts == COLD.counts).all()
    assert low_after(1, TWO, again, WINTER).chance(0) == low_after(1, TWO, COLD, WINTER).chance(0)
    assert len(json.dumps(stored)) < 20_000


def test_what_was_not_kept_so_is_refused():
    stored = COLD.as_stored()
    assert refusal(lambda: NightPrior.from_stored({**stored, "rows": stored["rows"][:-1]})) == (
        "Nights are kept in 73 rows, not 72."
    )


def test_too_little_is_no_prior():
    dates = days("2001-01-01", "2004-12-31")
    assert "need 5 years and there are 4" in refusal(
        lambda: prior_of_nights(dates, np.zeros(dates.size))
    )
    dates = days("2001-01-01", "2005-12-31")
    assert prior_of_nights(dates, np.zeros(dates.size)).years == 5
    summer = season_of(dates) < 40
    assert "leaves a part of the year open" in refusal(
        lambda: prior_of_nights(dates[summer], np.zeros(int(summer.sum())))
    )


def test_without_a_record_the_forecast_stands_alone():
    low = low_after(1.0, TWO, None, WINTER)
    assert (low.expected_c, low.sd) == (1.0, 2.0)
    assert low.chance(0.0) == pytest.approx(float(ndtr(-0.5)))
    warm = low_after(1.0, ForecastError(1.5, 2.0), None, WINTER)
    assert warm.expected_c == pytest.approx(-0.5)


def test_a_forecast_of_one_degree_means_little_where_it_never_freezes():
    alone = low_after(1.0, TWO, None, WINTER).chance(0.0)
    frosty = low_after(1.0, TWO, COLD, WINTER).chance(0.0)
    never = prior_of(cosine_year(mean=16, swing=2))
    assert low_after(1.0, TWO, never, WINTER).chance(0.0) < 0.1 < alone
    assert frosty > alone
    assert low_after(1.0, TWO, COLD, SUMMER).chance(0.0) < frosty


def test_cold_nobody_has_seen_stays_possible():
    low = low_after(-20.0, known_error(1.0), MILD, WINTER)
    assert low.chance(-15.0) > 0.99
    assert low.expected_c == pytest.approx(-20, abs=0.5)


def test_by_bayes_over_the_nights_one_by_one():
    """The same as weighing each counted night by hand, the unknown night included."""
    counts, lows = np.array([3, 0, 1]), np.array([-1.0, 0.0, 4.0])
    known = 0.49 + 0.25 / 12
    mean = (3 * -1 + 4) / 4
    variance = (3 * (-1 - mean) ** 2 + (4 - mean) ** 2) / 4 + known
    parts = [(3 / 5, -1.0, known), (1 / 5, 4.0, known), (1 / 5, mean, 9 * variance)]
    told, error = 0.5, 1.5**2
    weights, below = [], []
    for share, centre, spread in parts:
        total = spread + error
        weights.append(share * np.exp(-((told - centre) ** 2) / (2 * total)) / np.sqrt(total))
        after = centre + spread / total * (told - centre)
        below.append(ndtr((0.2 - after) / np.sqrt(spread * error / total)))
    expected = np.dot(weights, below) / sum(weights)
    season = season_of_counts(counts, lows)
    assert chances(season, np.array([told]), error, 0.2)[0] == pytest.approx(expected, abs=1e-12)


def test_one_night_is_judged_like_many():
    season = season_of_counts(COLD.season(WINTER), COLD.lows_c())
    told = np.array([-3.0, 0.0, 1.0, 6.0])
    many = chances(season, told, 4.0, 0.0)
    one = [low_after(each, TWO, COLD, WINTER).chance(0.0) for each in told]
    assert many == pytest.approx(one, abs=1e-12)


def test_a_site_colder_than_its_forecasts_has_colder_nights():
    cold_pocket = ForecastError(2.0, 2.0)
    moved = NightPrior(MILD.coldest_c - 2.0, MILD.counts, MILD.years, MILD.nights)
    assert low_after(7.0, cold_pocket, MILD, WINTER).chance(0) == pytest.approx(
        low_after(5.0, TWO, moved, WINTER).chance(0)
    )
    warm_wall = ForecastError(-2.0, 2.0)
    assert low_after(3.0, warm_wall, MILD, WINTER).chance(0) == pytest.approx(
        low_after(5.0, TWO, MILD, WINTER).chance(0)
    )


def test_bounds():
    assert_bounds(lambda told: low_after(told, TWO, None, WINTER), "The forecast", -95, 60, "C")
    low = low_after(1.0, TWO, None, WINTER)
    assert_bounds(low.chance, "The limit", -95, 60, "C")


lows = st.floats(-30, 25)


@given(lows, lows, lows, st.sampled_from([COLD, MILD, None]), st.floats(0.3, 6))
def test_the_higher_the_limit_the_likelier(told, one, other, prior, spread):
    low = low_after(told, known_error(spread), prior, WINTER)
    below, above = sorted([one, other])
    assert 0 <= low.chance(below) <= low.chance(above) + 1e-12 <= 1 + 1e-9


@given(lows, lows, lows, st.sampled_from([COLD, MILD, None]), st.floats(0.3, 6))
def test_the_colder_the_forecast_the_likelier(one, other, limit, prior, spread):
    colder, warmer = sorted([one, other])
    error = known_error(spread)
    cold = low_after(colder, error, prior, WINTER).chance(limit)
    assert cold >= low_after(warmer, error, prior, WINTER).chance(limit) - 1e-9


@given(lows, st.sampled_from([COLD, MILD]), st.floats(0.3, 6))
def test_a_forecast_narrows_what_the_season_leaves_open(told, prior, spread):
    low = low_after(told, known_error(spread), prior, WINTER)
    assert low.weights.sum() == pytest.approx(1)
    assert low.sd > 0
    nights = prior.lows_c()[np.flatnonzero(prior.season(WINTER))]
    if nights[0] <= told <= nights[-1]:
        assert (
            min(told, nights[0]) - 3 * spread < low.expected_c < max(told, nights[-1]) + 3 * spread
        )
