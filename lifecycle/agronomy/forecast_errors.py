"""How far forecasts of a night's low miss: a bias and a spread, learned from past pairs.

The error is what was told less what happened. It is learned apart for each lead, because a
forecast three nights ahead misses by more than one of the same afternoon.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lifecycle.agronomy.bounds import number_within, within

PAIRS_NEEDED = 30
"""Pairs from which an error is learned; below that the published one stands."""

#: A site on which forecasts never miss has not been read: no thermometer agrees so well.
LEAST_SD_C = 0.3

_COLDEST_C, _WARMEST_C = -95.0, 60.0
_LARGEST_ERROR_C = 20.0


@dataclass(frozen=True, slots=True)
class ForecastError:
    """Told less happened, in C: `bias_c` in the mean, `sd_c` about that.

    `pairs` is 0 for a published error; `df` None: the spread is known, not estimated.
    """

    bias_c: float
    sd_c: float
    pairs: int = 0
    df: int | None = None

    @property
    def spread_c(self) -> float:
        """The standard deviation to count on for the next forecast, in C.

        A spread learned from n pairs is widened by sqrt(1 + 1/n), for the bias is estimated
        too, and by sqrt(df / (df - 2)), which gives a normal distribution the variance of Student's
        t.
        """
        if self.df is None:
            return self.sd_c
        return self.sd_c * math.sqrt((1 + 1 / self.pairs) * self.df / (self.df - 2))


def known_error(sd_c: float, bias_c: float = 0.0) -> ForecastError:
    """An error taken from a publication. ValueError for a spread no forecast has."""
    return ForecastError(
        number_within("The bias", bias_c, -_LARGEST_ERROR_C, _LARGEST_ERROR_C, "C"),
        number_within("The spread", sd_c, LEAST_SD_C, _LARGEST_ERROR_C, "C"),
    )


def learn(forecast_c: ArrayLike, happened_c: ArrayLike) -> ForecastError | None:
    """The error of pairs of one lead, arrays of shape (nights,) in C; None below 30 pairs.

    NaN stands for a night without one of the two. Pairs over 20 C apart are left out: one of the
    two was mistyped. ValueError for lists of unequal length or
    temperatures no air has. A spread below 0.3 C counts as 0.3 C.
    """
    told = within("A forecast low", forecast_c, _COLDEST_C, _WARMEST_C, "C", gaps=True)
    happened = within("A low", happened_c, _COLDEST_C, _WARMEST_C, "C", gaps=True)
    if told.shape != happened.shape or told.ndim != 1:
        raise ValueError(
            f"There are {told.size} forecasts and {happened.size} lows; give one of each for "
            "every night."
        )
    both = ~np.isnan(told) & ~np.isnan(happened)
    errors = told[both] - happened[both]
    errors = errors[np.abs(errors) <= _LARGEST_ERROR_C]
    if errors.size < PAIRS_NEEDED:
        return None
    spread = max(float(errors.std(ddof=1)), LEAST_SD_C)
    return ForecastError(float(errors.mean()), spread, errors.size, errors.size - 1)
