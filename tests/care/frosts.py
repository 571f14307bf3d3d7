"""Nights, plants and covers for the tests of frost nights."""

from dataclasses import dataclass
from statistics import NormalDist

from lifecycle.care.frost_limits import Limits
from lifecycle.care.frost_night import OutThere, Spot, Stock

KILL, HARM = 0.0, 36 / 1.8 - 32 / 1.8
TENDER = Limits(KILL, HARM)
IN_A_POT = Limits(KILL, HARM, movable=True)


@dataclass(frozen=True)
class Night:
    """A low with a normal spread."""

    expected_c: float
    sd: float = 1.0

    def chance(self, limit_c: float) -> float:
        return NormalDist(self.expected_c, self.sd).cdf(limit_c)


@dataclass(frozen=True)
class Given:
    """The chances themselves, by limit; a limit that is not named is reached for sure."""

    chances: dict[float, float]

    def chance(self, limit_c: float) -> float:
        return self.chances.get(round(limit_c, 6), 0.0)


def bed(key: int = 1, plants: int = 3, position: int = 1, area: float | None = None) -> Spot:
    return Spot(
        key, position, tuple(OutThere(f"{key}-{n}", TENDER) for n in range(plants)), False, area
    )


def bench(key: int = 9, plants: int = 3, position: int = 9) -> Spot:
    return Spot(key, position, tuple(OutThere(f"{key}-{n}", IN_A_POT) for n in range(plants)), True)


def stock(protection: str = "cover_light", pieces: int = 10, area: float = 5.0) -> Stock:
    return Stock(protection, pieces, area)
