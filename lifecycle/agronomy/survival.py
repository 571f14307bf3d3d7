"""How many of a group live, with how sure one can be: shares, curves over time, pooled estimates.

Below five plants a bare percentage says nothing; show the count and the interval.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, mean, stdev

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from lifecycle.agronomy.bounds import number_within, within

_LONGEST = 1e6
# A share such as 1 - 1/3 - 1/6 is not exactly a half in binary.
_ROUNDING = 1e-12
# Shares that spread by less are alike; a prior worth less than this is none.
_LEAST_SPREAD, _LEAST_TOTAL = 1e-4, 1e-6


@dataclass(frozen=True, slots=True)
class Interval:
    """Both ends of an interval."""

    low: float
    high: float


def wilson(lived: int, total: int, confidence: float = 0.95) -> Interval:
    """Wilson score interval of a share (Wilson 1927; Newcombe 1998).

    ValueError when nothing was counted, or more lived than there were.
    """
    check_counts(lived, total)
    z = NormalDist().inv_cdf((1 + checked_confidence(confidence)) / 2)
    share = lived / total
    centre = (lived + z * z / 2) / (total + z * z)
    spread = share * (1 - share) / total + z * z / (4 * total * total)
    half = z * math.sqrt(spread) / (1 + z * z / total)
    return Interval(0.0 if lived == 0 else centre - half, 1.0 if lived == total else centre + half)


def check_counts(lived: int, total: int) -> None:
    """ValueError unless `total` is 1 or more and `lived` from 0 to it."""
    if total < 1:
        raise ValueError("A share needs a count; give a total of 1 or more.")
    number_within("The count", lived, 0, total)


def checked_confidence(confidence: float) -> float:
    """A confidence from 0.5 to 0.999; ValueError otherwise."""
    return number_within("The confidence", confidence, 0.5, 0.999)


@dataclass(frozen=True, slots=True)
class SurvivalCurve:
    """A Kaplan-Meier curve: one entry for each time at which somebody died, in order.

    `survival` holds from its time on; `standard_error` is Greenwood's, NaN once nobody is left.
    """

    times: tuple[float, ...]
    at_risk: tuple[int, ...]
    deaths: tuple[int, ...]
    survival: tuple[float, ...]
    standard_error: tuple[float, ...]

    def at(self, time: float) -> float:
        """Share alive just after `time`; beyond the last death it stays where it was."""
        share = 1.0
        for death, left in zip(self.times, self.survival, strict=True):
            if death <= time:
                share = left
        return share

    @property
    def median(self) -> float | None:
        """First time at which half or fewer are alive, or None while more than half are."""
        for time, share in zip(self.times, self.survival, strict=True):
            if share <= 0.5 + _ROUNDING:
                return time
        return None


def kaplan_meier(durations: ArrayLike, died: ArrayLike) -> SurvivalCurve:
    """Share alive over time, from how long each was watched and whether it then died.

    S(t) is the product of 1 - d/n over the deaths up to t (Kaplan & Meier 1958). One watched to
    the very day of a death counts as at risk on it. ValueError for nobody, a negative time or
    lists of unequal length.
    """
    watched, events = _observations(durations, died)
    times, at_risk, deaths = _risk_table(watched, events)
    survival = np.cumprod(1 - deaths / at_risk)
    with np.errstate(divide="ignore", invalid="ignore"):
        # Where all at risk die the sum is infinite and the product with S = 0 undefined.
        error = survival * np.sqrt(np.cumsum(deaths / (at_risk * (at_risk - deaths))))
    return SurvivalCurve(
        tuple(times.tolist()),
        tuple(int(count) for count in at_risk),
        tuple(int(count) for count in deaths),
        tuple(survival.tolist()),
        tuple(error.tolist()),
    )


@dataclass(frozen=True, slots=True)
class LogRank:
    """The log-rank statistic, chi-squared with one degree of freedom, and its p value."""

    chi2: float
    p: float


def log_rank(
    durations: ArrayLike, died: ArrayLike, other_durations: ArrayLike, other_died: ArrayLike
) -> LogRank | None:
    """Whether two groups die at the same rate (log-rank test, hypergeometric variance).

    None where nobody died while both groups were watched. ValueError as `kaplan_meier`.
    """
    first, first_events = _observations(durations, died)
    second, second_events = _observations(other_durations, other_died)
    times, at_risk, deaths = _risk_table(
        np.concatenate((first, second)), np.concatenate((first_events, second_events))
    )
    ours = np.array([np.count_nonzero(first >= time) for time in times], dtype=np.float64)
    our_deaths = np.count_nonzero(first_events)
    share = ours / at_risk
    # A lone survivor leaves no variance; the largest of n - 1 and 1 spares a division by nothing.
    spread = (at_risk - deaths) / np.maximum(at_risk - 1, 1)
    variance = float(np.sum(deaths * share * (1 - share) * spread))
    if variance == 0:
        return None
    chi2 = (our_deaths - float(np.sum(deaths * share))) ** 2 / variance
    return LogRank(chi2, math.erfc(math.sqrt(chi2 / 2)))


def _observations(
    durations: ArrayLike, died: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    watched = within("A time", durations, 0, _LONGEST)
    events = np.asarray(died, dtype=np.bool_)
    if watched.shape != events.shape or watched.ndim != 1:
        raise ValueError(
            f"There are {watched.size} times and {events.size} outcomes; give one of each for "
            "every plant."
        )
    if watched.size == 0:
        raise ValueError("There is no plant to follow; give at least one.")
    return watched, events


def _risk_table(
    watched: NDArray[np.float64], events: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Times of death, how many stood until then, and how many died."""
    times, deaths = np.unique(watched[events], return_counts=True)
    at_risk = np.array([np.count_nonzero(watched >= time) for time in times], dtype=np.float64)
    return times, at_risk, deaths.astype(np.float64)


@dataclass(frozen=True, slots=True)
class BetaShare:
    """What is believed of a share: a beta distribution with parameters a and b."""

    a: float
    b: float

    def __post_init__(self) -> None:
        """ValueError unless both parameters are above 0."""
        number_within("The parameter a", self.a, 1e-12, 1e9)
        number_within("The parameter b", self.b, 1e-12, 1e9)

    @property
    def mean(self) -> float:
        """Expected share."""
        return self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """Standard deviation of the share."""
        total = self.a + self.b
        return math.sqrt(self.a * self.b / (total * total * (total + 1)))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Central interval that holds the share with this probability."""
        tail = (1 - checked_confidence(confidence)) / 2
        return Interval(
            float(betaincinv(self.a, self.b, tail)), float(betaincinv(self.a, self.b, 1 - tail))
        )

    def after(self, lived: int, total: int) -> "BetaShare":
        """Belief after `lived` of `total` more (beta-binomial; Gelman et al., Bayesian Data
        Analysis, from memory). ValueError as `wilson`.
        """
        check_counts(lived, total)
        return BetaShare(self.a + lived, self.b + total - lived)


def prior_from_moments(average: float, sd: float) -> BetaShare:
    """The beta distribution with this mean and standard deviation (method of moments).

    ValueError when the mean is not between 0 and 1 or no share can spread so little or so far.
    """
    centre = number_within("The mean share", average, 1e-6, 1 - 1e-6)
    spread = number_within("The standard deviation", sd, _LEAST_SPREAD, 0.5)
    total = _prior_total(centre, spread)
    if total < _LEAST_TOTAL:
        raise ValueError(
            f"Shares with a mean of {centre:g} cannot spread by {spread:g}; give a standard "
            f"deviation below {math.sqrt(centre * (1 - centre)):g}."
        )
    return BetaShare(centre * total, (1 - centre) * total)


def prior_from_groups(groups: Sequence[tuple[int, int]]) -> BetaShare | None:
    """What other groups, each (lived, total), lead one to expect of a new one.

    From the mean and standard deviation of their shares, each group counting alike. None where
    they tell nothing: fewer than two groups, shares all the same, or shares mostly 0 and 1.
    ValueError as `wilson`.
    """
    for lived, total in groups:
        check_counts(lived, total)
    shares = [lived / total for lived, total in groups]
    if len(shares) < 2:
        return None
    average, sd = mean(shares), stdev(shares)
    if sd < _LEAST_SPREAD or _prior_total(average, sd) < _LEAST_TOTAL:
        return None
    return prior_from_moments(average, sd)


def _prior_total(average: float, sd: float) -> float:
    """a + b of the beta distribution; 0 or less where there is none."""
    return average * (1 - average) / (sd * sd) - 1
