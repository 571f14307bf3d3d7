"""Is the room right for a plant at rest? Its temperature against the published span."""

from dataclasses import dataclass
from enum import StrEnum

from lifecycle.care.readiness import SLACK_C
from lifecycle.handbook import fact


class Room(StrEnum):
    """What a temperature makes of a room."""

    COLD = "cold"
    RIGHT = "right"
    WARM = "warm"


@dataclass(frozen=True, slots=True)
class RestingRoom:
    """The answer with its sentence, temperatures in C between braces."""

    answer: Room
    reason: str


def resting_room(room_c: float) -> RestingRoom:
    """Judge a room in C for a plant at rest: 50 to 60 F, below which it is harmed."""
    low, high = fact("quarters.rest_low").si, fact("quarters.rest_high").si
    here = f"The room has {{{room_c:.2f} C}}"
    if room_c < low - SLACK_C:
        return RestingRoom(
            Room.COLD, f"{here}, below {{{low:.2f} C}}: move it somewhere warmer today."
        )
    if room_c > high + SLACK_C:
        return RestingRoom(
            Room.WARM,
            f"{here}, above {{{high:.2f} C}}: it will not rest there; give light and more water.",
        )
    return RestingRoom(Room.RIGHT, f"{here}, right for rest.")
