"""May tender plants go out? Seven nights against the two published floors."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from lifecycle.handbook import fact

SLACK_C = 0.05
"""Half the last digit of a reading in tenths of a degree."""


class Readiness(StrEnum):
    """The answer of seven nights."""

    READY = "ready"
    ALLOWED = "allowed"
    HOLD = "hold"


@dataclass(frozen=True, slots=True)
class SevenNights:
    """Readiness with the numbers behind it, temperatures in C."""

    answer: Readiness
    lowest_c: float
    reason: str


def allows(low_c: float, limit_c: float) -> bool:
    """Whether one source alone, with its limit, lets a plant out on a night of ``low_c``.

    At 52 F peppers are allowed by 50 F (Minnesota Extension) and held back by 55 F (Illinois
    Extension); ``readiness`` puts the two together.
    """
    return low_c >= limit_c - SLACK_C


def readiness(
    lows_c: Sequence[float],
    ready_c: float = fact("plant_out.ready_night").si,
    allowed_c: float = fact("plant_out.allowed_night").si,
) -> SevenNights:
    """Judge the lows of seven nights in C.

    Ready when all are at or above ``ready_c`` (for peppers 55 F, Illinois Extension); allowed
    with a warning from ``allowed_c`` (50 F, Minnesota Extension); hold below. Another crop's
    limits, or a site's choice, are ``SiteDates.planting_nights``. Raises ValueError unless
    there are seven.
    """
    if len(lows_c) != 7:
        raise ValueError(f"Seven nights are needed, not {len(lows_c)}.")
    lowest = min(lows_c)
    if allows(lowest, ready_c):
        answer = Readiness.READY
        words = f"All seven nights stay at {{{ready_c:.2f} C}} or above: plant out."
    elif allows(lowest, allowed_c):
        answer = Readiness.ALLOWED
        words = (
            f"The coldest of the seven nights is {{{lowest:.2f} C}}, below {{{ready_c:.2f} C}}: "
            "planting out is allowed, but keep a cover at hand."
        )
    else:
        answer = Readiness.HOLD
        words = (
            f"Hold: the coldest of the seven nights is {{{lowest:.2f} C}}, below "
            f"{{{allowed_c:.2f} C}}: nights too cold to plant out."
        )
    return SevenNights(answer, lowest, words)
