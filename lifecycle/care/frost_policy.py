"""The chances from which a site acts: its own setting, and what that costs on its own record."""

from dataclasses import dataclass

from lifecycle.care.frost_night import Ratios
from lifecycle.care.policy import MISS, SETTINGS, Policy

DEFAULT_RATIO = 1 / int(SETTINGS["frost_kill"].default)
"""Where a choice needs a record and there is none."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """What acting from a chance of ``ratio`` would have brought over a whole record.

    ``calls`` evenings were called, ``caught`` of them killing nights; ``missed`` killing nights
    were not called.
    """

    ratio: float
    calls: int
    caught: int
    missed: int

    @property
    def killing(self) -> int:
        """Killing nights on the record."""
        return self.caught + self.missed

    @property
    def for_nothing(self) -> int:
        """Evenings called before a night that did not kill."""
        return self.calls - self.caught


@dataclass(frozen=True, slots=True)
class Curve:
    """The points of a site's record of ``years`` years, the greatest ratio first.

    ``keeping`` pairs N with the greatest ratio at which at most one killing night in N was
    missed; it is empty on a record that never froze.
    """

    years: float
    points: tuple[CurvePoint, ...]
    keeping: tuple[tuple[int, float], ...] = ()

    def at(self, ratio: float) -> CurvePoint | None:
        """Return the point nearest to a ratio, by its multiple; None on an empty curve."""
        return min(
            self.points,
            key=lambda point: max(point.ratio / ratio, ratio / point.ratio),
            default=None,
        )


def ratios_of(policy: Policy, curve: Curve | None) -> Ratios:
    """Return the chances from which a site acts.

    A choice that names how few killing nights may be missed takes the greatest chance that kept
    to it on the site's own record; without a record, or on one that never froze, the default
    stands.
    """
    chosen = policy.of("frost_kill")
    harm = 1 / int(policy.of("frost_harm"))
    if not chosen.startswith(MISS):
        return Ratios(kill=1 / int(chosen), harm=harm)
    keeping = dict(curve.keeping) if curve is not None else {}
    return Ratios(kill=keeping.get(int(chosen.removeprefix(MISS)), DEFAULT_RATIO), harm=harm)


def needs_curve(policy: Policy) -> bool:
    """Whether the choice in force follows from the site's own record."""
    return policy.of("frost_kill").startswith(MISS)


@dataclass(frozen=True, slots=True)
class Tally:
    """A site's own nights: called or not, against nights that killed or did not."""

    called_killing: int = 0
    called_mild: int = 0
    missed: int = 0
    quiet: int = 0

    @property
    def calls(self) -> int:
        """Nights that were called."""
        return self.called_killing + self.called_mild


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Another point of the curve to act at, and the one in force; ``why`` is a sentence."""

    now: CurvePoint
    then: CurvePoint
    why: str


MOST_MISSED = 20
"""One killing night in so many may be missed before more calls are suggested."""

CALLS_TO_JUDGE = 10
CALLS_PER_HIT = 10
"""From so many calls on, with fewer than one in ten right, fewer calls are suggested.

All three are common practice, no source.
"""


def suggestion(ratio: float, curve: Curve | None, own: Tally) -> Suggestion | None:
    """Return a change of the ratio worth a thought, from the site's curve and its own nights.

    More calls where the curve misses too many killing nights and asking sooner misses fewer;
    fewer where nearly all of many calls were for nothing and asking later misses no more than it
    may. None where neither holds. Nothing is changed by it.
    """
    now = None if curve is None else curve.at(ratio)
    if curve is None or now is None:
        return None
    few = [each for each in curve.points if each.missed * MOST_MISSED <= each.killing]
    if own.missed or now not in few:
        fewer = [each for each in curve.points if each.missed < now.missed]
        kept = [each for each in fewer if each in few]
        if not fewer:
            return None
        then = max(kept, key=_ratio) if kept else min(fewer, key=_missed)
        return Suggestion(now, then, "Killing nights are missed.")
    if own.calls >= CALLS_TO_JUDGE and own.called_killing * CALLS_PER_HIT < own.calls:
        later = [each for each in few if each.calls < now.calls]
        if later:
            return Suggestion(now, min(later, key=_ratio), "Nearly all calls are for nothing.")
    return None


def _missed(point: CurvePoint) -> int:
    return point.missed


def _ratio(point: CurvePoint) -> float:
    return point.ratio
