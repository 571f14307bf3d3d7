"""Made-up weeks of work, and their best division found by trying every one."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lifecycle.agronomy.allocation import Allocation, allocate


@dataclass(frozen=True)
class MadeUpWeek:
    """Units down, people across, as ``allocate`` takes them."""

    minutes: list[int]
    may: np.ndarray
    has: list[int]
    limits: list[int | None]

    def shared(self) -> Allocation:
        """Return the division."""
        return allocate(self.minutes, self.may, self.has, limits=self.limits)

    def takers(self, unit: int) -> list[int]:
        """Return who may do a unit and has so many minutes left."""
        return [
            who
            for who, (had, limit) in enumerate(zip(self.has, self.limits, strict=True))
            if self.may[unit, who] and (limit is None or had + self.minutes[unit] <= limit)
        ]

    def part(self, units: Sequence[int], people: Sequence[int]) -> "MadeUpWeek":
        """Return the week of these units and people only, without limits."""
        return MadeUpWeek(
            minutes=[self.minutes[unit] for unit in units],
            may=self.may[np.ix_(units, people)],
            has=[self.has[who] for who in people],
            limits=[None] * len(people),
        )

    def best(self) -> tuple[int, int]:
        """Return the fewest minutes left over and, with those, the least heaviest load."""
        found = []
        for who in itertools.product((None, *range(len(self.has))), repeat=len(self.minutes)):
            loads, left = list(self.has), 0
            for unit, person in enumerate(who):
                if person is None:
                    left += self.minutes[unit]
                elif self.may[unit, person]:
                    loads[person] += self.minutes[unit]
                else:
                    break
            else:
                if all(map(_within, loads, self.limits, self.has)):
                    found.append((left, max(loads)))
        return min(found)


def _within(load: int, limit: int | None, had: int) -> bool:
    return limit is None or load <= max(limit, had)


def small_week(seed: int) -> MadeUpWeek:
    """Return up to six units and four people, with masks, loads and limits at random."""
    random = np.random.default_rng(seed)
    units, people = int(random.integers(1, 7)), int(random.integers(1, 5))
    by_five = seed % 3 > 0
    minutes = random.integers(1, 24, units) * 5 if by_five else random.integers(1, 100, units)
    has = random.integers(0, 30, people) * 5 * (random.random(people) < 0.6)
    limits = random.integers(0, 60, people) * 5
    return MadeUpWeek(
        minutes=minutes.tolist(),
        may=random.random((units, people)) < 0.7,
        has=has.tolist(),
        limits=[int(each) if random.random() < 0.3 else None for each in limits],
    )


def large_week(seed: int, units: int, people: int) -> MadeUpWeek:
    """Return a garden's week: four skills, days away, loads and limits at random.

    A quarter of the units ask for a skill that a third of the people have; each has a window
    within seven days, and everybody is away one day in seven.
    """
    random = np.random.default_rng(seed)
    skilled = random.random((people, 4)) < 0.35
    asked = np.where(random.random(units) < 0.25, random.integers(0, 4, units), -1)
    there = random.random((people, 7)) >= 0.15
    first = random.integers(0, 7, units)
    last = np.minimum(first + random.integers(0, 7, units), 6)
    may = np.array(
        [
            there[:, first[unit] : last[unit] + 1].any(axis=1)
            & (skilled[:, asked[unit]] if asked[unit] >= 0 else True)
            for unit in range(units)
        ]
    )
    limits = random.integers(6, 20, people) * 60
    return MadeUpWeek(
        minutes=(random.integers(2, 25, units) * 5).tolist(),
        may=may,
        has=(random.integers(0, 20, people) * 15).tolist(),
        limits=[int(each) if random.random() < 0.4 else None for each in limits],
    )
