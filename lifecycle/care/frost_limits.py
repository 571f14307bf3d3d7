"""What a plant stands on a frost night: where it is killed, where it is harmed, can it be moved.

A frost kills tender plants from 32 F down (freeze categories of NOAA/NCEI). Frost forms on leaves
at a forecast low of 33 to 36 F, for the thermometer hangs above colder ground (National Weather
Service): from 36 F down a plant is counted as harmed. The chilling that a pepper suffers at 10 C
comes of a long spell and is no affair of one night: the plan keeps plants in until nights are
warmer, and brings hardening ones in, so that a frost night is called for frost alone.
"""

from dataclasses import dataclass

from lifecycle.handbook import Crop, fact
from lifecycle.life.phases import Phase

KILLING_C = fact("patrol.light_freeze").si_high
"""A night this cold kills tender plants, 32 F."""

FROST_C = fact("frost_limits.on_leaves").si_high
"""A night this cold brings frost on the leaves, 36 F."""

_NOT_UP = frozenset({Phase.PLANNED, Phase.SOWN, Phase.ENDED})


@dataclass(frozen=True, slots=True)
class Limits:
    """The lows of the air, in C, that kill a plant (that or colder) and that harm it.

    ``crown_unknown``: it rests in the ground, and no source says how much cold its crown
    stands; it is judged as a plant in leaf.
    """

    kill_c: float
    harm_c: float
    movable: bool = False
    crown_unknown: bool = False


def is_exposed(phase: Phase, *, sheltered: bool) -> bool:
    """Whether something stands out at night: in the open and up, or being hardened off.

    A hardening plant is out whatever its place says: hardening is standing out by day, and
    later by night.
    """
    return phase is Phase.HARDENING or (phase not in _NOT_UP and not sheltered)


def limits_of(crop: Crop, phase: Phase, *, sheltered: bool, in_pot: bool) -> Limits | None:
    """Return what a plant stands; None under a roof, or where no frost limit is published.

    Harm begins at 36 F, or at the crop's own chilling limit where that is colder.
    """
    kill = crop.find("kill")
    if kill is None or not is_exposed(phase, sheltered=sheltered):
        return None
    chill = crop.find("chill_night")
    harm = FROST_C if chill is None else min(FROST_C, chill.si)
    return Limits(
        kill_c=kill.si,
        harm_c=max(harm, kill.si),
        movable=in_pot or phase is Phase.HARDENING,
        crown_unknown=phase is Phase.RESTING and not in_pot,
    )
