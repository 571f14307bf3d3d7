"""What acting from each chance would have brought, on a made-up record of ten years."""

from datetime import date, timedelta

import numpy as np
import pytest

from lifecycle.agronomy.cost_loss import RULES, ratio_that_misses
from lifecycle.agronomy.frost_backtest import backtest
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.care import frost_rehearsed
from lifecycle.care.frost_policy import Curve
from lifecycle.care.frost_rehearsed import rehearsed_curve
from lifecycle.care.frost_words import ratio_words

TEN = range(2001, 2011)


def record(years=TEN, middle: float = 8.0, units: str = "C", lows=None):
    """Nights about a yearly cycle, colder than freezing in some winters' nights."""
    first = date(years[0], 1, 1)
    days = (date(years[-1] + 1, 1, 1) - first).days
    rng = np.random.default_rng(5)
    turn = np.cos(2 * np.pi * (np.arange(days) - 15) / 365.25)
    made = middle - 6 * turn + rng.normal(0, 2.5, days) if lows is None else lows(days)
    rows = [f"date,tmin_{units.lower()},tmax_{units.lower()}"]
    rows += [f"{first + timedelta(n)},{low:.1f},{low + 9:.1f}" for n, low in enumerate(made)]
    return read_daily_record(("\n".join(rows) + "\n").encode(), units=units, latitude=40.0), made


def test_counts_add_up_and_asking_sooner_never_misses_more() -> None:
    kept, lows = record()
    curve = rehearsed_curve(kept, 1.5)
    killing = int((np.round(lows, 1) <= 0).sum())
    assert killing > 50
    assert curve.years == pytest.approx(10.0, abs=0.01)
    assert {point.killing for point in curve.points} == {killing}
    ratios = [point.ratio for point in curve.points]
    assert ratios == sorted(ratios, reverse=True)
    assert {1 / rule for rule in RULES} <= set(ratios)
    for sooner, later in zip(curve.points[1:], curve.points, strict=False):
        assert sooner.missed <= later.missed
        assert sooner.calls >= later.calls
        assert later.calls <= len(lows)


def test_a_promise_of_few_misses_is_kept_and_has_a_row_of_its_own() -> None:
    curve = rehearsed_curve(record()[0], 1.5)
    assert [nights for nights, _ in curve.keeping] == [10, 20, 50, 100]
    rows = {ratio_words(point.ratio) for point in curve.points}
    assert len(rows) == len(curve.points)
    for nights, ratio in curve.keeping:
        assert ratio_words(ratio) in rows
        point = curve.at(ratio)
        assert point is not None
        if point.ratio == ratio:
            assert point.missed * nights <= point.killing


def test_it_is_the_rehearsal_of_the_default_rule_and_of_the_others() -> None:
    kept, _ = record(range(2001, 2005))
    found = backtest(kept, limit_c=0.0, ratio=0.05, error_sd=1.5)
    curve = rehearsed_curve(kept, 1.5)
    assert curve.years == found.years
    point = curve.at(1 / 20)
    assert point is not None
    assert (point.calls, point.caught, point.missed) == (
        found.counts.called,
        found.counts.caught,
        found.counts.missed,
    )
    for rule in found.curve:
        row = curve.at(1 / rule.one_in)
        assert row is not None
        assert row.ratio == 1 / rule.one_in
        assert row.calls / curve.years == pytest.approx(rule.calls_a_year)
    for nights, ratio in curve.keeping:
        assert ratio == ratio_that_misses(found.said, found.happened, nights)


def test_a_promise_never_asks_for_less_than_one_in_a_thousand(monkeypatch) -> None:
    monkeypatch.setattr(frost_rehearsed, "ratio_that_misses", lambda *_: 0.0)
    curve = rehearsed_curve(record(range(2001, 2005))[0], 1.5)
    assert curve.keeping == ((10, 0.001), (20, 0.001), (50, 0.001), (100, 0.001))
    assert len(curve.points) == len(RULES) + 1


def test_a_promise_that_comes_to_a_rule_has_no_second_row(monkeypatch) -> None:
    monkeypatch.setattr(frost_rehearsed, "ratio_that_misses", lambda *_: 0.0499)
    curve = rehearsed_curve(record(range(2001, 2005))[0], 1.5)
    assert [point.ratio for point in curve.points] == [1 / rule for rule in RULES]


def test_worse_forecasts_cost_more_evenings_or_more_plants() -> None:
    kept, _ = record()
    good, bad = rehearsed_curve(kept, 0.5), rehearsed_curve(kept, 3.0)

    def cost(curve: Curve) -> float:
        point = curve.at(1 / 20)
        return point.calls + 20 * point.missed

    assert cost(good) < cost(bad)
    assert rehearsed_curve(kept, 1.5) == rehearsed_curve(kept, 1.5)


def test_a_record_that_never_froze_promises_nothing() -> None:
    curve = rehearsed_curve(record(middle=25.0)[0], 1.5)
    assert curve.keeping == ()
    assert [point.missed for point in curve.points] == [0] * len(RULES)


def test_too_short_a_record_has_no_curve() -> None:
    assert rehearsed_curve(record(range(2001, 2003))[0], 1.5) == Curve(0.0, ())
    assert rehearsed_curve(record(range(2001, 2004))[0], 1.5).points


def test_32_f_is_a_killing_night() -> None:
    kept, _ = record(units="F", lows=lambda days: np.where(np.arange(days) % 9, 50.0, 32.0))
    curve = rehearsed_curve(kept, 1.5)
    assert curve.points[0].killing == len(range(0, 3652, 9))
