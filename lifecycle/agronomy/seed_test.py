"""A germination test at home against the federal standard, and a seed lot's age against its life.

No decline of germination with age is published that a lot could be reckoned by: age only says
whether to test. How many seeds to sow follows from a test.
"""

from dataclasses import dataclass
from enum import StrEnum

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.survival import Interval, wilson


class Standing(StrEnum):
    """A lot's germination beside the standard of its crop."""

    MEETS = "meets"
    MAY_BE_BELOW = "may be below"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class GerminationTest:
    """So many sprouted of so many sown; twenty in a damp towel is the usual test at home."""

    sprouted: int
    sown: int

    def __post_init__(self) -> None:
        """ValueError when nothing was sown, or more sprouted than was sown."""
        if self.sown < 1:
            raise ValueError("A germination test needs seeds; give how many were sown, 1 or more.")
        number_within("The number of seeds that sprouted", self.sprouted, 0, self.sown)

    @property
    def share(self) -> float:
        """Share that sprouted, 0 to 1."""
        return self.sprouted / self.sown

    def interval(self, confidence: float = 0.95) -> Interval:
        """Wilson interval of the lot's germination."""
        return wilson(self.sprouted, self.sown, confidence)

    def standing(self, standard: float, confidence: float = 0.95) -> Standing:
        """Against a standard, a share: below as counted, or so few sown that it may be below.

        A lot that meets it as counted may still be below while its interval reaches below.
        """
        counted = lab_standing(self.share, standard)
        if counted is Standing.MEETS and self.interval(confidence).low < standard:
            return Standing.MAY_BE_BELOW
        return counted


def lab_standing(share: float, standard: float) -> Standing:
    """A laboratory's germination against a standard, both shares; at the standard it meets it.

    A laboratory tests 400 seeds or more, so its figure stands as it is (7 CFR 201).
    """
    found = number_within("Germination", share, 0, 1)
    least = number_within("The germination standard", standard, 0, 1)
    return Standing.MEETS if found >= least else Standing.BELOW


class SeedAge(StrEnum):
    """A lot's age beside the life of its crop's seed in favourable storage."""

    FRESH = "packed this year"
    WITHIN = "within its life"
    LAST_YEAR = "in the last year of its life"
    PAST = "past its life"

    @property
    def needs_test(self) -> bool:
        """Whether to test before relying on it: once it is past its life."""
        return self is SeedAge.PAST


def seed_age(packed: int, year: int, life_years: int) -> SeedAge:
    """Class of a lot packed for one year and looked at in another; its life counts inclusively.

    Seed with a life of 2 years packed in 2023 is in its last year in 2025 and past it in 2026.
    ValueError when the lot is packed in a later year, or for a life under 1 or over 50 years.
    """
    if packed > year:
        raise ValueError(
            f"Seed packed in {packed} cannot be judged for {year}; give a year from {packed} on."
        )
    last = sow_by(packed, life_years)
    if packed == year:
        return SeedAge.FRESH
    if year > last:
        return SeedAge.PAST
    return SeedAge.LAST_YEAR if year == last else SeedAge.WITHIN


def sow_by(packed: int, life_years: int) -> int:
    """Last year in which to sow a lot without testing it first."""
    number_within("The life of seed", life_years, 1, 50, "years")
    return packed + life_years
