"""Set out: how deep, two in one pot, what goes in the hole; then water in, label and mulch."""

from lifecycle.care.outlook import Ground
from lifecycle.care.policy import Policy
from lifecycle.care.steps import Step
from lifecycle.care.summer import Summer, Why, after
from lifecycle.handbook import Crop, days, fact
from lifecycle.life.kinds import Kind

_SHALLOW_SLACK_CM = 0.5
"""Beds are measured to the half centimetre."""

_AS_STOOD = "Set peppers no deeper than they stood."
_TO_LEAF = (
    "Set peppers to the seed leaves: they lodge less, but deeper soil is colder in a cool spring."
)


def how_deep(crop: Crop, policy: Policy) -> str:
    """Return the sentence that says how deep a crop is set where there is depth enough, or ""."""
    if crop.group == "tomato":
        return f"{_deep_tomato()}."
    return depth(crop, policy, Ground())


def depth(crop: Crop, policy: Policy, ground: Ground) -> str:
    """Return the sentence that says how deep a crop is set, or "" where nothing is known.

    ``ground`` is what it goes into: a tomato is laid on its side in a shallow bed.
    """
    if crop.group == "pepper":
        return _AS_STOOD if policy.of("pepper_depth") == "as_stood" else _TO_LEAF
    if crop.group == "tomato":
        return _tomato_depth(ground)
    return "Set eggplants as they stood." if crop.group == "eggplant" else ""


def _tomato_depth(ground: Ground) -> str:
    shallow = fact("newly_set.shallow").si
    deep = _deep_tomato()
    if ground.depth_cm is None:
        return (
            f"{deep}; in a bed only {{{shallow:.0f} cm}} deep over wire lay them on their side, "
            "the tip turned up."
        )
    if ground.depth_cm > shallow + _SHALLOW_SLACK_CM:
        return f"{deep}."
    over = " over wire" if ground.wire else ""
    return (
        f"This bed is only {{{ground.depth_cm:.0f} cm}} deep{over}: lay tomatoes on their side, "
        "the tip turned up."
    )


def _deep_tomato() -> str:
    gain = fact("newly_set.deep_gain").si
    return f"Set tomatoes deep, to the first true leaf, for {gain * 100:.0f} % more at first pick"


def pair(count: int) -> str:
    """Return the sentence for two plants raised in one pot, or "" for a single one."""
    return "The two in one pot stay together and hold each other up." if count == 2 else ""


def hole(crop: Crop) -> str:
    """Return the sentence that says what goes into the hole, or ""."""
    if crop.group != "pepper":
        return ""
    return (
        "Into the hole bone meal and a material of about 1-0-2: little nitrogen for young peppers."
    )


def after_planting(summer: Summer) -> list[Step]:
    """Return watering in, the label and the mulch of a plant newly out."""
    if not summer.newly_out:
        return []
    return [*_water_in(summer), *_label(summer), *_mulch(summer)]


def _water_in(summer: Summer) -> list[Step]:
    carried_out = summer.life.outside and Kind.PLANTED_OUT not in summer.life.dates
    if summer.in_pot or carried_out:
        return []
    why = Why(
        "planting out",
        f"Planted out on {{{summer.out_on}}}: water in the same day, so that soil closes on roots.",
        "practice",
    )
    window = after(summer.out_on, 0, 0, days("newly_set.water_within"))
    return summer.once("water_in", Kind.WATERED, window, why, stands=1, since=summer.first_out)


def _label(summer: Summer) -> list[Step]:
    within = days("newly_set.label_within")
    why = Why(
        "planting out",
        f"Planted out on {{{summer.out_on}}}: a label at every plant, in pencil or scratched in, "
        "for ink fades in a season.",
        "practice",
    )
    window = after(summer.out_on, 0, 0, within)
    return summer.once("label", Kind.LABELLED, window, why, stands=within)


def _mulch(summer: Summer) -> list[Step]:
    if summer.in_pot:
        return []
    low = fact("newly_set.mulch_depth")
    first, last = days("newly_set.mulch_after_min"), days("newly_set.mulch_after_max")
    window = after(summer.out_on, first, days("newly_set.mulch_after"), last)
    why = Why(
        "planting out",
        f"About two weeks after planting out on {{{summer.out_on}}} the soil is warm: "
        f"{{{low.si:.0f} cm}} to {{{low.si_high:.0f} cm}} of mulch, the drip line under it, "
        "leaves kept dry.",
        low.source,
    )
    return summer.once("mulch", Kind.MULCHED, window, why, stands=last)
