"""Flowers: the first ones taken off a plant too small to carry fruit, and setting them by hand."""

from datetime import date

from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import SETTINGS
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step
from lifecycle.care.summer import Summer, Why, after
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind

_SETTING = "first_flowers"
_SMALL = frozenset({"pepper", "eggplant"})
"""Crops that flower before they can carry fruit."""


def first_flowers_out(summer: Summer) -> list[Step]:
    """Return the step that takes first flowers off a young plant in its first weeks out."""
    if not summer.newly_out or not _wanted(summer):
        return []
    lasts = days("early_flowers.off_for")
    why = Why(
        "planting out",
        f"For the first {lasts} days after planting out on {{{summer.out_on}}}: a plant too small "
        "to carry fruit grows roots and leaves first.",
        SETTINGS[_SETTING].choice("off").source,
        _SETTING,
    )
    window = after(summer.out_on, 0, days("early_flowers.off_best"), lasts)
    return summer.once("flowers_off", Kind.FLOWERS_OFF, window, why, stands=0, since=_since(summer))


def first_flowers_inside(life: Life, coming: Season, outlook: Outlook) -> list[Step]:
    """Return the same step for a seedling that flowers before it is out."""
    young = Summer(life, coming, coming.plant_out.best, outlook, newly_out=True)
    flowered = life.last_on.get(Kind.FIRST_FLOWER)
    if flowered is None or not _wanted(young):
        return []
    why = Why(
        "first flower",
        f"It flowered on {{{flowered}}}, before planting out, best on "
        f"{{{coming.plant_out.best}}} here: too small to carry fruit.",
        SETTINGS[_SETTING].choice("off").source,
        _SETTING,
    )
    window = after(flowered, 0, 0, days("early_flowers.off_best"))
    return young.once(
        "flowers_off",
        Kind.FLOWERS_OFF,
        window,
        why,
        stands=days("early_flowers.off_for"),
        since=_since(young),
        now=True,
    )


def _wanted(summer: Summer) -> bool:
    choice = summer.policy.of(_SETTING)
    return summer.crop.group in _SMALL and choice == "off" and not summer.kept


def _since(summer: Summer) -> date:
    """A young plant has one season so far: all of its life counts."""
    return min(summer.life.began_on, summer.current.starts)


def pollination(
    life: Life, winter: Season, inside_since: date, outlook: Outlook, *, ends: date
) -> list[Step]:
    """Return the next pollination by hand of a plant kept growing indoors until ``ends``."""
    every = days("hand_pollination.every")
    low, high = fact("hand_pollination.night_low"), fact("hand_pollination.night_high")
    why = Why(
        "winter quarters",
        f"No wind and no bees indoors: every {every} days shake open flowers or touch them with "
        f"a soft brush. Fruit sets best at {{{low.si:.2f} C}} to {{{high.si:.2f} C}} at night.",
        low.source,
    )
    indoors = Summer(life, winter, inside_since, outlook, newly_out=False)
    return indoors.again(
        "pollinate",
        Kind.POLLINATED,
        after(inside_since, every, every, every + 3),
        (every, every, every + 3),
        why,
        ends=ends,
        since=inside_since,
        now=True,
    )
