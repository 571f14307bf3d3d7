"""When it pays to act on a chance, what that costs, and what a forecast is worth.

Acting costs C whatever happens; not acting loses L when the harm comes. It pays to act from a
chance of C/L on (Murphy 1977, The value of climatological, categorical and probabilistic forecasts
in the cost-loss ratio situation, Monthly Weather Review 105:803-816). The worth of a forecast is
told relative to knowing the climate and to knowing the night (Richardson 2000, Skill and relative
economic value of the ECMWF ensemble prediction system, Quarterly Journal of the Royal
Meteorological Society 126:649-667). Expenses are in losses: L is 1.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import number_within, within

RULES = (5, 10, 20, 50, 100)
"""Loss over cost of the rules that are compared."""

MISSES = (10, 20, 50, 100)
"""Killing nights of which one may be missed, in the rules that are found."""


@dataclass(frozen=True, slots=True)
class Calls:
    """Nights by what was called and what came."""

    caught: int
    missed: int
    called_for_nothing: int
    left_in_peace: int

    @property
    def called(self) -> int:
        """Nights on which somebody had to go."""
        return self.caught + self.called_for_nothing

    @property
    def came(self) -> int:
        """Nights that killed."""
        return self.caught + self.missed

    @property
    def nights(self) -> int:
        """All of them."""
        return self.called + self.missed + self.left_in_peace

    def expense(self, ratio: float) -> float:
        """What acting so cost over all nights, in losses."""
        return _ratio(ratio) * self.called + self.missed


@dataclass(frozen=True, slots=True)
class RulePoint:
    """One rule on a record: act from a chance of 1 in `one_in` on; counts a year."""

    one_in: int
    caught_share: float | None
    missed_a_year: float
    calls_a_year: float
    for_nothing_a_year: float


@dataclass(frozen=True, slots=True)
class MissPoint:
    """The boldest rule that misses at most one killing night in `one_in`; counts a year."""

    one_in: int
    ratio: float
    missed_a_year: float
    calls_a_year: float


def should_act(chance: float, ratio: float) -> bool:
    """Whether acting pays: the chance is at least cost over loss."""
    return number_within("The chance", chance, 0, 1) >= _ratio(ratio)


def calls(said: ArrayLike, happened: ArrayLike, ratio: float) -> Calls:
    """Count the calls made by chances `said` at a ratio, against what `happened` (bool)."""
    chances, came = _pair(said, happened)
    acted = chances >= _ratio(ratio)
    return Calls(
        int((acted & came).sum()),
        int((~acted & came).sum()),
        int((acted & ~came).sum()),
        int((~acted & ~came).sum()),
    )


def always_expense(counts: Calls, ratio: float) -> float:
    """What acting on every one of these nights would have cost, in losses."""
    return _ratio(ratio) * counts.nights


def never_expense(counts: Calls) -> float:
    """What never acting would have cost, in losses."""
    return float(counts.came)


def relative_value(counts: Calls, ratio: float) -> float | None:
    """Worth of the calls: 1 as good as knowing each night, 0 no better than knowing the climate.

    Negative when the climate alone did better; None where the two leave nothing between them.
    """
    climate = min(always_expense(counts, ratio), never_expense(counts))
    perfect = _ratio(ratio) * counts.came
    if climate == perfect:
        return None
    return (climate - counts.expense(ratio)) / (climate - perfect)


def curve(
    said: ArrayLike, happened: ArrayLike, years: float, rules: Sequence[int] = RULES
) -> tuple[RulePoint, ...]:
    """What each rule would have caught and cost a year on a record of `years` years."""
    span = number_within("The number of years", years, 0.1, 1000)
    points = []
    for one_in in rules:
        counts = calls(said, happened, 1 / one_in)
        points.append(
            RulePoint(
                one_in,
                counts.caught / counts.came if counts.came else None,
                counts.missed / span,
                counts.called / span,
                counts.called_for_nothing / span,
            )
        )
    return tuple(points)


def ratio_that_misses(said: ArrayLike, happened: ArrayLike, one_in: int) -> float | None:
    """The highest ratio at which at most one killing night in `one_in` was missed.

    None when none came: then no ratio follows from the record.
    """
    chances, came = _pair(said, happened)
    number_within("The number of killing nights", one_in, 1, 10_000)
    killing = np.sort(chances[came])
    if killing.size == 0:
        return None
    return float(killing[min(killing.size // one_in, killing.size - 1)])


def miss_curve(
    said: ArrayLike, happened: ArrayLike, years: float, misses: Sequence[int] = MISSES
) -> tuple[MissPoint, ...]:
    """What missing at most one killing night in so many asks for and costs a year.

    Empty when none came.
    """
    span = number_within("The number of years", years, 0.1, 1000)
    points = []
    for one_in in misses:
        ratio = ratio_that_misses(said, happened, one_in)
        if ratio is not None:
            counts = calls(said, happened, ratio)
            points.append(MissPoint(one_in, ratio, counts.missed / span, counts.called / span))
    return tuple(points)


def _pair(said: ArrayLike, happened: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    chances = within("A chance", said, 0, 1)
    came = np.asarray(happened, dtype=np.bool_)
    if chances.shape != came.shape or chances.ndim != 1:
        raise ValueError(
            f"There are {chances.size} chances and {came.size} outcomes; give one of each for "
            "every night."
        )
    return chances, came


def _ratio(ratio: float) -> float:
    return number_within("Cost over loss", ratio, 0, 1)
