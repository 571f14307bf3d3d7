"""How long a kind of step takes, to share work out by: common practice, no source."""

from functools import cache
from math import ceil

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.handbook import fact

ROUNDED_TO = 5
"""Minutes that an estimate is a multiple of: closer it cannot be."""

_WORK: dict[str, tuple[str, ...]] = {
    "look": (
        *("emergence", "label", "label_check", "renew_label", "winter_check", "first_growth"),
        *("look_over", "settle_identity", "review", "harden", "harden_again", "acclimatise"),
        "seed_test",
    ),
    "water": ("water_in", "winter_water", "heat_water", "leach"),
    "hand": (
        *("pinch", "tie", "wind_on", "lower", "side_shoots", "flowers_off", "first_feed", "feed"),
        *("harvest", "last_pick", "mulch", "pollinate", "unshade", "wake"),
    ),
    "clean": ("pest_check",),
    "prune": ("cut_back", "take_cutting"),
    "support": ("stake", "stake_stout", "cage", "string", "shade", "guard"),
    "plant": ("plant_out", "replant", "clear", "let_go", "backup"),
    "lift": ("lift", "pot_out", "winter_quarters", "repot"),
    "batch": ("sow", "pot_up"),
}
_WORK_OF = {kind: work for work, kinds in _WORK.items() for kind in kinds}

_HEAVY = frozenset({"support", "plant", "lift", "batch"})


def minutes_for(step_kind: str, plants: int) -> int:
    """Return the minutes that a step takes one person for some plants of one place.

    Fetching and putting back counts once. Raises KeyError for a kind that is not a step.
    """
    work = _WORK_OF[STEP_RULES[step_kind].kind]
    once = fact("set_up.heavy") if work in _HEAVY else fact("set_up.light")
    return ceil((once.value + plants * _a_plant()[work]) / ROUNDED_TO) * ROUNDED_TO


@cache
def _a_plant() -> dict[str, float]:
    """Return the minutes a plant takes, by kind of work."""
    facts = {
        "look": fact("effort.look"),
        "water": fact("effort.water"),
        "hand": fact("effort.hand"),
        "clean": fact("effort.clean"),
        "prune": fact("effort.prune"),
        "support": fact("effort.support"),
        "plant": fact("effort.plant"),
        "lift": fact("effort.lift"),
        "batch": fact("effort.batch"),
    }
    return {work: each.value for work, each in facts.items()}
