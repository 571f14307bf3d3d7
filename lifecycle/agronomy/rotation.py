"""Whether a plant family may stand in a bed again, by calendar years."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class RotationVerdict(StrEnum):
    """A planned year beside a rule that gives a range of years."""

    FREE = "the family has not stood here"
    TOO_SOON = "too soon"
    LOW_END = "meets the shorter interval"
    HIGH_END = "meets the longer interval"


@dataclass(frozen=True, slots=True)
class RotationRule:
    """Whole years that a family stays away: at least, and to be on the safe side."""

    least_away: int
    most_away: int

    def __post_init__(self) -> None:
        """ValueError unless 0 <= least <= most <= 20 years."""
        if not 0 <= self.least_away <= self.most_away <= 20:
            raise ValueError(
                f"A family cannot stay away {self.least_away} to {self.most_away} years; give "
                "two whole numbers from 0 to 20, the smaller first."
            )


def once_in(least: int, most: int) -> RotationRule:
    """The rule "no more than once every `least` to `most` years": one of them it stands."""
    return RotationRule(least - 1, most - 1)


def last_stood(stood: Iterable[int], planned: int) -> int | None:
    """Latest year up to the planned one in which the family stood here, or None."""
    return max((year for year in stood if year <= planned), default=None)


def years_since(stood: Iterable[int], planned: int) -> int | None:
    """Years from when the family last stood here to the planned one; 0 while it stands."""
    last = last_stood(stood, planned)
    return None if last is None else planned - last


def verdict(stood: Iterable[int], planned: int, rule: RotationRule) -> RotationVerdict:
    """What a rule says of planting the family here in the planned year.

    Years later than the planned one play no part. Away for two years after 2025 means back in
    2028: 2026 and 2027 are the years away.
    """
    since = years_since(stood, planned)
    if since is None:
        return RotationVerdict.FREE
    if since <= rule.least_away:
        return RotationVerdict.TOO_SOON
    return RotationVerdict.LOW_END if since <= rule.most_away else RotationVerdict.HIGH_END


def earliest_year(last: int, years_away: int) -> int:
    """First year in which the family may stand here again after so many years away."""
    return last + years_away + 1
