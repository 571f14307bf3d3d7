"""Is the room right for the winter? Its temperature against the published spans."""

from dataclasses import dataclass
from enum import StrEnum

from lifecycle.care.readiness import SLACK_C
from lifecycle.handbook import fact


class Room(StrEnum):
    """What a temperature makes of a room."""

    COLD = "cold"
    COOL = "cool"
    RIGHT = "right"
    WARM = "warm"


@dataclass(frozen=True, slots=True)
class WinterRoom:
    """The answer with its sentence, temperatures in C between braces."""

    answer: Room
    reason: str


def resting_room(room_c: float) -> WinterRoom:
    """Judge a room in C for a plant at rest: 50 to 60 F, below which it is harmed."""
    low, high = fact("quarters.rest_low").si, fact("quarters.rest_high").si
    here = f"The room has {{{room_c:.2f} C}}"
    if room_c < low - SLACK_C:
        return _too_cold(here, low)
    if room_c > high + SLACK_C:
        return WinterRoom(
            Room.WARM,
            f"{here}, above {{{high:.2f} C}}: it will not rest there; give light and more water.",
        )
    return WinterRoom(Room.RIGHT, f"{here}, right for rest.")


def growing_room(room_c: float, *, waking: bool) -> WinterRoom:
    """Judge a room in C for a plant that grows on, 60 to 70 F, or wakes, 65 to 75 F."""
    least = fact("quarters.rest_low").si
    low, high = fact("quarters.grow_low").si, fact("quarters.grow_high").si
    if waking:
        room = fact("wake_by_frost.room")
        low, high = room.si, room.si_high
    here = f"The room has {{{room_c:.2f} C}}"
    if room_c < least - SLACK_C:
        return _too_cold(here, least)
    if room_c < low - SLACK_C:
        return WinterRoom(
            Room.COOL, f"{here}, below {{{low:.2f} C}}: growth stands still; water less."
        )
    if room_c > high + SLACK_C:
        return WinterRoom(
            Room.WARM,
            f"{here}, above {{{high:.2f} C}}: without much light its shoots grow long and thin.",
        )
    return WinterRoom(Room.RIGHT, f"{here}, right for growth.")


def _too_cold(here: str, least_c: float) -> WinterRoom:
    return WinterRoom(
        Room.COLD, f"{here}, below {{{least_c:.2f} C}}: move it somewhere warmer today."
    )
