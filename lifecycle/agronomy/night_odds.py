"""How likely a night falls to a limit: the forecast, weighed by the nights the site has known.

By Bayes' rule. Each night of the season stands for what this one may be, in the measure in which
the forecast would have been given before it. So a forecast of 1 C means little where it never
freezes, and much where every third night does. A night colder than any before stays possible:
besides the nights known there is one unknown, far wider than they are.
"""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.forecast_errors import ForecastError
from lifecycle.agronomy.night_prior import STEP_C, NightPrior

Floats = NDArray[np.float64]

_COLDEST_C, _WARMEST_C = -95.0, 60.0
#: A night like one on record is not that very night: 0.7 C beside it, and half a step of counting.
_KNOWN_VARIANCE = 0.7**2 + STEP_C**2 / 12
#: The unknown night is so many times as widely spread as the season's nights.
_UNKNOWN_SPREAD = 3.0


@dataclass(frozen=True, slots=True)
class NightLow:
    """The low of one night in C: a mixture of normal curves with `weights` that add up to 1."""

    weights: Floats
    centres_c: Floats
    sds_c: Floats

    @property
    def expected_c(self) -> float:
        """The mean of the low."""
        return float(self.weights @ self.centres_c)

    @property
    def sd(self) -> float:
        """The standard deviation of the low."""
        second = float(self.weights @ (self.sds_c**2 + self.centres_c**2))
        return math.sqrt(max(second - self.expected_c**2, 0.0))

    def chance(self, limit_c: float) -> float:
        """Chance, 0 to 1, that the low is at or below the limit in C."""
        limit = number_within("The limit", limit_c, _COLDEST_C, _WARMEST_C, "C")
        below = float(self.weights @ ndtr((limit - self.centres_c) / self.sds_c))
        return min(max(below, 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class Season:
    """What a night may be before a forecast: logs of weights, centres in C, variances.

    All of the shape (..., parts), a row for each night asked about or one for all; the last part
    is the unknown night.
    """

    log_weights: Floats
    centres_c: Floats
    variances: Floats


def season_of_counts(counts: NDArray[np.int64], lows_c: Floats) -> Season:
    """A season made of its nights and one night unknown.

    `counts`, of the shape (..., bins), says how many had each of `lows_c`, of the shape (bins,).
    """
    nights = counts.sum(axis=-1, keepdims=True).astype(np.float64)
    mean = (counts * lows_c).sum(axis=-1, keepdims=True) / nights
    off = (counts * (lows_c - mean) ** 2).sum(axis=-1, keepdims=True) / nights
    unknown = _UNKNOWN_SPREAD**2 * (off + _KNOWN_VARIANCE)
    shape = np.broadcast_shapes(counts.shape, lows_c.shape)
    with np.errstate(divide="ignore"):  # a low that no night had weighs nothing
        logs = np.log(counts) - np.log(nights + 1)
    return Season(
        np.concatenate((logs, -np.log(nights + 1)), axis=-1),
        np.concatenate((np.broadcast_to(lows_c, shape), mean), axis=-1),
        np.concatenate((np.full(shape, _KNOWN_VARIANCE), unknown), axis=-1),
    )


def low_after(
    forecast_c: float, error: ForecastError, prior: NightPrior | None, day: date
) -> NightLow:
    """The low of the night of `day` for which `forecast_c` was told.

    `prior` None: nothing is known but the forecast and its error. Where forecasts run warm for
    the site (a positive bias), the site is colder than the air the record was made in, and its
    nights are moved by the bias; where they run cold, the nights stay as they are.
    """
    told = number_within("The forecast", forecast_c, _COLDEST_C, _WARMEST_C, "C") - error.bias_c
    if prior is None:
        return NightLow(np.ones(1), np.array([told]), np.array([error.spread_c]))
    colder = max(error.bias_c, 0.0)
    season = season_of_counts(prior.season(day), prior.lows_c() - colder)
    weights, centres, variances = combined(season, np.array([told]), error.spread_c**2)
    return NightLow(weights[0], centres[0], np.sqrt(np.broadcast_to(variances, centres.shape)[0]))


def combined(season: Season, told_c: Floats, variance: float) -> tuple[Floats, Floats, Floats]:
    """A season's nights after forecasts `told_c` of shape (n,) whose error has this variance.

    Weights, centres and variances of the shape (n, parts), the last perhaps of (parts,).
    """
    apart = season.variances + variance
    off = told_c[:, None] - season.centres_c
    logs = season.log_weights - np.log(apart) / 2 - off**2 / (2 * apart)
    weights = np.exp(logs - logs.max(axis=1, keepdims=True))
    weights /= weights.sum(axis=1, keepdims=True)
    share = season.variances / apart
    return weights, season.centres_c + share * off, share * variance


def chances(season: Season, told_c: Floats, variance: float, limit_c: float) -> Floats:
    """Chance of a low at or below the limit after each of the forecasts, shape (n,)."""
    weights, centres, variances = combined(season, told_c, variance)
    return np.asarray((weights * ndtr((limit_c - centres) / np.sqrt(variances))).sum(axis=1))
