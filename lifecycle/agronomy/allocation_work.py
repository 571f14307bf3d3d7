"""Pieces of work to be shared out: how long each takes, and who may do it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd

import numpy as np
from numpy.typing import ArrayLike, NDArray

Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

NOBODY = -1
LONGEST = 100_000
_NO_LIMIT = 10**9


@dataclass(frozen=True, slots=True)
class Work:
    """Units down, people across.

    ``minutes`` of each unit, which one person does whole; ``may`` says who may do it; ``has`` are
    the minutes each person has already and ``room`` those they can still take; ``liking`` is
    higher where a unit had better go to a person, other things being equal.
    """

    minutes: Whole
    may: Flags
    has: Whole
    room: Whole
    liking: Whole

    @property
    def step(self) -> int:
        """The largest number of minutes that every possible load is a multiple of."""
        return gcd(*(int(each) for each in self.minutes), *(int(each) for each in self.has)) or 1

    def loads(self, who: Whole) -> Whole:
        """Return everybody's minutes when units go to ``who``; NOBODY leaves a unit over."""
        given = who != NOBODY
        found = self.has.copy()
        np.add.at(found, who[given], self.minutes[given])
        return found

    def left_over(self, who: Whole) -> int:
        """Return the minutes that nobody gets."""
        return int(self.minutes[who == NOBODY].sum())

    def fits(self) -> Flags:
        """Return who may do each unit and can still take it by itself."""
        return self.may & (self.minutes[:, None] <= self.room[None, :])

    def doable(self) -> Flags:
        """Return which units somebody may do."""
        return np.asarray(self.may.any(axis=1), dtype=bool)

    def among(self, units: Flags, people: Flags | Whole) -> "Work":
        """Return the part that these units and people are; people by number come in that order."""
        both = np.ix_(units, people)
        return Work(
            self.minutes[units],
            self.may[both],
            self.has[people],
            self.room[people],
            self.liking[both],
        )


def made_work(
    minutes: Sequence[int],
    may: ArrayLike,
    has: Sequence[int],
    limits: Sequence[int | None] | None,
    liking: ArrayLike | None,
) -> Work:
    """Return the work that these rows describe.

    Raises ValueError for sizes that do not match and minutes that cannot be.
    """
    shape = (len(minutes), len(has))
    limits = limits if limits is not None else [None] * shape[1]
    allowed = np.asarray(may, dtype=bool).reshape(-1) if 0 in shape else np.asarray(may, dtype=bool)
    likes = np.zeros(shape) if liking is None or 0 in shape else np.asarray(liking)
    if allowed.size != shape[0] * shape[1] or likes.shape != shape or len(limits) != shape[1]:
        raise ValueError("Give one row a unit and one column a person.")
    if any(not 0 < each <= LONGEST for each in minutes):
        raise ValueError(f"A unit takes 1 to {LONGEST} minutes.")
    if any(not 0 <= each <= LONGEST for each in (*has, *(each or 0 for each in limits))):
        raise ValueError(f"A person has, and offers, 0 to {LONGEST} minutes.")
    room = [
        _NO_LIMIT if limit is None else max(limit - own, 0)
        for own, limit in zip(has, limits, strict=True)
    ]
    return Work(
        np.array(minutes, dtype=np.int64),
        allowed.reshape(shape),
        np.array(has, dtype=np.int64),
        np.array(room, dtype=np.int64),
        likes.astype(np.int64),
    )
