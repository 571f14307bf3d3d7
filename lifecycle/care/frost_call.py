"""From the chances of a night to its state: possible, called, called off."""

from dataclasses import dataclass
from enum import StrEnum

NIGHTS_AHEAD = 3
"""Nights after tonight that are judged: as far as a watch is given (two to three days)."""

CALLED_OFF_UNDER = 0.5
"""A called night is called off under half the ratio that called it, so that it does not flicker.

Common practice, no source.
"""


class State(StrEnum):
    """Where a night stands."""

    QUIET = "quiet"
    POSSIBLE = "possible"
    CALLED = "called"
    NOT_NEEDED = "not_needed"
    CANCELLED = "cancelled"
    OVER = "over"


DECIDED = frozenset({State.NOT_NEEDED, State.OVER})
"""What no forecast changes: a person said so, or the night is past."""


@dataclass(frozen=True, slots=True)
class Signs:
    """What speaks for a night.

    ``fear`` is the greatest chance as a multiple of its ratio; ``tonight`` that the night is
    the coming one and the day's first forecast is in; ``stale`` that the forecast is old.
    """

    fear: float
    tonight: bool
    stale: bool


def next_state(state: State, signs: Signs, *, by_hand: bool = False) -> State:
    """Return where a night stands now that it was judged again.

    Old data neither calls a night nor calls one off. What a person called, a person calls off.
    """
    if state in DECIDED:
        return state
    if state is State.CALLED:
        calmed = signs.fear < CALLED_OFF_UNDER and not signs.stale and not by_hand
        return State.CANCELLED if calmed else State.CALLED
    if signs.fear >= 1 and signs.tonight and not signs.stale:
        return State.CALLED
    if state is State.CANCELLED:
        return state
    return State.POSSIBLE if signs.fear >= 1 else State.QUIET
