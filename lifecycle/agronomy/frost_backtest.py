"""A frost rule rehearsed on a record: forecasts made from the truth, chances said, calls counted.

Each night is judged by the nights of the other years alone, so that no year helps to foretell
itself. The forecast of the day itself misses by `error_sd` C. One day earlier it lacks one more
surprise of that size, independent of the others: errors of earlier days include those of later ones
and spread as the square root of the days.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.cost_loss import (
    Calls,
    MissPoint,
    RulePoint,
    always_expense,
    calls,
    curve,
    miss_curve,
    never_expense,
    relative_value,
)
from lifecycle.agronomy.daily_record import DailyRecord, RecordError
from lifecycle.agronomy.day_of_year import DAYS_IN_YEAR, day_of_year
from lifecycle.agronomy.night_odds import chances, season_of_counts
from lifecycle.agronomy.night_prior import (
    HALF_WINDOW,
    STEP_C,
    Dates,
    Floats,
    bins_of,
    by_day,
    season_of,
    windowed,
)

LEADS = (0, 1, 2, 3)
"""Days before the night on which a forecast is made."""

TENTHS = 10
YEARS_NEEDED = 3
_DAYS_A_YEAR = 365.25
#: So that a made-up record of the same seed does not share its noise with the forecasts.
_OWN_STREAM = 32
#: A limit of 30 F handed over in C may come out a hair off.
_HAIR_C = 1e-9


@dataclass(frozen=True, slots=True)
class Tenth:
    """Nights on which a chance of this tenth was said: the mean said, the share that came."""

    said: float
    happened: float
    nights: int


@dataclass(frozen=True, slots=True)
class LeadCalls:
    """What the rule would have called so many days before the night."""

    lead_days: int
    error_sd_c: float
    calls: Calls


@dataclass(frozen=True, slots=True)
class Backtest:
    """A rule over all nights of a record.

    `said` and `happened` run along the nights: the chance on the day itself, and whether the low
    came to the limit. `best` is the expense of the Bayes-optimal rule: the same forecasts judged
    by the exact nights of the other years within 15 days.
    """

    limit_c: float
    ratio: float
    error_sd_c: float
    years: float
    said: Floats
    happened: NDArray[np.bool_]
    counts: Calls
    best: float
    by_lead: tuple[LeadCalls, ...]

    @property
    def expense(self) -> float:
        """What the rule cost over the whole record, in losses."""
        return self.counts.expense(self.ratio)

    @property
    def curve(self) -> tuple[RulePoint, ...]:
        """What other rules would have caught and cost on these forecasts."""
        return curve(self.said, self.happened, self.years)

    @property
    def miss_curve(self) -> tuple[MissPoint, ...]:
        """The rules that miss at most one killing night in so many; empty when none came."""
        return miss_curve(self.said, self.happened, self.years)

    @property
    def reliability(self) -> tuple[Tenth, ...]:
        """Chances said against what came, by tenths; tenths that were never said are left out."""
        tenth = np.minimum((self.said * TENTHS).astype(int), TENTHS - 1)
        rows = []
        for index in range(TENTHS):
            chosen = tenth == index
            if chosen.any():
                rows.append(
                    Tenth(
                        float(self.said[chosen].mean()),
                        float(self.happened[chosen].mean()),
                        int(chosen.sum()),
                    )
                )
        return tuple(rows)

    def as_report(self) -> dict[str, Any]:
        """The rehearsal as JSON-able values; expenses in losses over the whole record."""
        return {
            "nights": self.counts.nights,
            "killing_nights": self.counts.came,
            "caught": self.counts.caught,
            "missed": self.counts.missed,
            "called_for_nothing": self.counts.called_for_nothing,
            "calls_per_year": round(self.counts.called / self.years, 2),
            "cost": {
                "ours": round(self.expense, 3),
                "best": round(self.best, 3),
                "always": round(always_expense(self.counts, self.ratio), 3),
                "never": round(never_expense(self.counts), 3),
            },
            "relative_value": _rounded(relative_value(self.counts, self.ratio)),
            "reliability": [
                {
                    "said": round(row.said, 4),
                    "happened": round(row.happened, 4),
                    "n": row.nights,
                }
                for row in self.reliability
            ],
            "curve": [
                {
                    "one_in": point.one_in,
                    "caught": _rounded(point.caught_share),
                    "missed_per_year": round(point.missed_a_year, 3),
                    "calls_per_year": round(point.calls_a_year, 2),
                    "called_for_nothing_per_year": round(point.for_nothing_a_year, 2),
                }
                for point in self.curve
            ],
            "miss_at_most": [
                {
                    "one_in": point.one_in,
                    "cost_loss": round(point.ratio, 4),
                    "missed_per_year": round(point.missed_a_year, 3),
                    "calls_per_year": round(point.calls_a_year, 2),
                }
                for point in self.miss_curve
            ],
            "by_lead": [
                {
                    "lead_days": row.lead_days,
                    "forecast_error_c": round(row.error_sd_c, 3),
                    "caught": row.calls.caught,
                    "missed": row.calls.missed,
                    "called_for_nothing": row.calls.called_for_nothing,
                }
                for row in self.by_lead
            ],
        }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def backtest(
    record: DailyRecord, *, limit_c: float, ratio: float, error_sd: float, seed: int = 1
) -> Backtest:
    """Rehearse a rule on a record: act from a chance of `ratio` (cost over loss) on.

    `error_sd` is the spread in C by which the forecast of the day itself misses. RecordError for
    fewer than three years with nights; ValueError for numbers that cannot be.
    """
    known = ~np.isnan(record.tmin_c)
    dates, lows = record.dates[known], _as_read(record)[known]
    limit = number_within("The limit", limit_c, -60, 40, "C")
    number_within("Cost over loss", ratio, 0.001, 1)
    spread = number_within("The forecast error", error_sd, 0.1, 10, "C")
    years = np.unique(dates.astype("datetime64[Y]"))
    if years.size < YEARS_NEEDED:
        raise RecordError(
            f"A rehearsal needs {YEARS_NEEDED} years of nights and there are {years.size}; give a "
            "longer record."
        )
    happened = lows <= limit + _HAIR_C
    surprises = np.random.default_rng([seed, _OWN_STREAM]).normal(
        0, spread, (len(LEADS), lows.size)
    )
    told = lows + np.cumsum(surprises, axis=0)
    spreads = spread * np.sqrt(1 + np.arange(len(LEADS)))
    said = chances_by_other_years(dates, lows, told, spreads, limit)
    exact = exact_chances(dates, lows, told[0], spread, limit)
    return Backtest(
        limit_c=limit,
        ratio=ratio,
        error_sd_c=spread,
        years=_years(dates),
        said=said[0],
        happened=happened,
        counts=calls(said[0], happened, ratio),
        best=calls(exact, happened, ratio).expense(ratio),
        by_lead=tuple(
            LeadCalls(lead, float(spreads[lead]), calls(said[lead], happened, ratio))
            for lead in LEADS
        ),
    )


def _years(dates: Dates) -> float:
    """How often the record goes through the days of the year that it has, be it winters alone."""
    covered = np.unique(day_of_year(dates)).size / DAYS_IN_YEAR
    return float(dates.size / _DAYS_A_YEAR / covered)


def _as_read(record: DailyRecord) -> Floats:
    """Lows in C; what was read in whole degrees F is exactly that, not the tenth it was kept as."""
    if record.native_unit == "F" and record.precision == 1.0:
        return np.asarray((record.minima_f() - 32.0) / 1.8)
    return record.tmin_c


def chances_by_other_years(
    dates: Dates, lows: Floats, told: Floats, spreads: Floats, limit: float
) -> Floats:
    """The chance of each night, at each lead, by the nights of all other years.

    `told` and the answer have the shape (leads, nights). Where no other year knows the season, the
    forecast and its error stand alone.
    """
    bins, coldest, width = bins_of(lows)
    levels = coldest + STEP_C * np.arange(width, dtype=np.float64)
    year = dates.astype("datetime64[Y]").astype(np.int64)
    season = season_of(dates)
    everything = windowed(by_day(dates, bins, width))
    said: Floats = ndtr((limit - told) / spreads[:, None])
    for own in np.unique(year):
        mine = year == own
        others = everything - windowed(by_day(dates[mine], bins[mine], width))
        known = others.sum(axis=1) > 0
        nights = np.flatnonzero(mine & known[season])
        part = season_of_counts(others[season[nights]], levels)
        for lead, spread in enumerate(spreads):
            said[lead, nights] = chances(part, told[lead, nights], float(spread) ** 2, limit)
    return np.clip(said, 0.0, 1.0)


def exact_chances(dates: Dates, lows: Floats, told: Floats, spread: float, limit: float) -> Floats:
    """The chance of each night by Bayes' rule over the exact nights of the other years.

    Where no other year knows the season, the forecast and its error stand alone.
    """
    day = day_of_year(dates)
    year = dates.astype("datetime64[Y]").astype(np.int64)
    said: Floats = ndtr((limit - told) / spread)
    for here in np.unique(day):
        apart = np.abs(day - here)
        near = np.flatnonzero(np.minimum(apart, DAYS_IN_YEAR - apart) <= HALF_WINDOW)
        nights = np.flatnonzero(day == here)
        others = year[near][None, :] != year[nights][:, None]
        known = others.any(axis=1)
        nights, others = nights[known], others[known]
        logs = -((told[nights][:, None] - lows[near][None, :]) ** 2) / (2 * spread**2)
        logs[~others] = -np.inf
        weights = np.exp(logs - logs.max(axis=1, keepdims=True))
        said[nights] = (weights * (lows[near] <= limit + _HAIR_C)).sum(axis=1) / weights.sum(axis=1)
    return np.clip(said, 0.0, 1.0)
