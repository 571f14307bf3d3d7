"""Steps that a cold night puts an end to: what they need is killed by it.

Lifting, the move into winter quarters, the last pick, seed and cuttings for a back-up, and the look
at leaves and fruit that tells which plant it is: all of them stand in the plan before the first
freeze of the site's record (``seasons``, ``autumn``, ``moving_in``). A forecast can bring that
night forward. Shade before moving in and the pest check are left out: a week or more before
lifting they have their sense, and none the day before a frost. So is clearing: what is cleared
may freeze.
"""

from lifecycle.care.frost_limits import limits_of
from lifecycle.handbook import CROPS
from lifecycle.life.phases import Phase

CLOSED_BY_COLD = frozenset(
    {"lift", "winter_quarters", "last_pick", "backup", "take_cutting", "label_check"}
)
"""Kinds of step (``catalogue``) that must be done before the night that kills."""


def closing_low_of(step_kind: str, species: str) -> float | None:
    """Return the low in C from which down a night closes the step; None where no night does.

    It is the crop's own killing limit. ``species`` is a key of ``handbook.CROPS``.
    """
    if step_kind not in CLOSED_BY_COLD:
        return None
    kill = CROPS[species].find("kill")
    return None if kill is None else kill.si


def closing_low(
    step_kind: str, species: str, phase: Phase, *, sheltered: bool, in_pot: bool
) -> float | None:
    """Return ``closing_low_of`` a plant that stands out; under a roof no night closes anything."""
    limits = limits_of(CROPS[species], phase, sheltered=sheltered, in_pot=in_pot)
    if step_kind not in CLOSED_BY_COLD or limits is None:
        return None
    return limits.kill_c
