"""The settings where sources disagree: the choices, who says which, and what was chosen."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a setting, and whose word it is (a key of ``handbook.SOURCES``)."""

    value: str
    label: str
    source: str


@dataclass(frozen=True, slots=True)
class Setting:
    """A question that sources answer differently; the first choice is the default.

    ``beside`` are the keys of settings that change the same steps in another way; ``plans``
    says whether it changes steps at all.
    """

    key: str
    question: str
    choices: tuple[Choice, ...]
    effect: str
    beside: tuple[str, ...] = ()
    plans: bool = True

    @property
    def default(self) -> str:
        """The choice that stands until a garden makes its own."""
        return self.choices[0].value

    def choice(self, value: str) -> Choice:
        """Return the choice of that value. Raises ValueError for one that is not offered."""
        for each in self.choices:
            if each.value == value:
                return each
        offered = ", ".join(each.label for each in self.choices)
        raise ValueError(f"{self.question} “{value}” is not offered. Choose one of: {offered}.")


MISS = "miss_"
"""What stands before the nights of a choice that names how few killing nights may be missed."""

SETTINGS: dict[str, Setting] = {
    setting.key: setting
    for setting in (
        Setting(
            "plant_out_night",
            "How warm must nights be before peppers go out?",
            (
                Choice("55", "55 °F (12.8 °C) and above", "illinois"),
                Choice("50", "50 °F (10 °C) and above", "umn"),
            ),
            "Moves planting out, and with it sowing, waking and hardening.",
            beside=("pepper_depth", "perennial_bed"),
        ),
        Setting(
            "wake_anchor",
            "When are resting plants woken?",
            (
                Choice("planting_out", "One to two months before planting out", "bucks"),
                Choice("last_frost", "A month before the last frost", "muncie"),
            ),
            "Moves the day resting plants are brought into warmth and light.",
        ),
        Setting(
            "cut_height",
            "How far is a lifted plant cut back?",
            (
                Choice("y4", "To about 4 in (10 cm), leaving a Y", "bucks"),
                Choice("stump2", "To a stump of 2 in (5 cm)", "muncie"),
            ),
            "Changes what the cutback of lifted plants asks for.",
        ),
        Setting(
            "cut_time",
            "When is a lifted plant cut back?",
            (
                Choice("leaf_drop", "Indoors, after the leaves drop", "bucks"),
                Choice("at_potting", "At potting, when it is lifted", "muncie"),
            ),
            "Moves the cutback of lifted plants.",
            beside=("cut_height",),
        ),
        Setting(
            "winter_water",
            "How often is a resting plant watered?",
            (
                Choice("three_weeks", "About every three weeks", "bucks"),
                Choice("two_weeks", "Two to three times a month", "muncie"),
            ),
            "Moves the winter watering of resting plants.",
        ),
        Setting(
            "mulch_and_frost",
            "What happens to mulch before a frost?",
            (
                Choice("save_top", "Rake it away: bare damp soil gives off heat", "ucce"),
                Choice("save_crown", "Leave it: it saves roots when the top will die", "ufifas"),
            ),
            "Changes what the winter patrol of plants in the ground asks for.",
        ),
        Setting(
            "pinch",
            "Are young peppers topped?",
            (
                Choice("six_leaves", "At about six true leaves, unless the season is short", "ucd"),
                Choice("leave", "No: total yield often falls", "bellprune"),
            ),
            "Adds or takes away the topping of young peppers.",
        ),
        Setting(
            "first_flowers",
            "Do first flowers come off a plant too small to carry fruit?",
            (
                Choice("off", "Yes, until it is established", "practice"),
                Choice("leave", "No, leave them", "practice"),
            ),
            "Adds or takes away the step that removes first flowers.",
        ),
        Setting(
            "pepper_depth",
            "How deep are peppers set?",
            (
                Choice("as_stood", "No deeper than they stood", "practice"),
                Choice("to_leaf", "To the seed leaves: they lodge less", "depth"),
            ),
            "Changes what planting out says of depth.",
        ),
        Setting(
            "tomato_training",
            "How are tall (indeterminate) tomatoes grown?",
            (
                Choice("string", "One stem on a string, 1 ft (30 cm) apart", "ncsu"),
                Choice("cage", "In a cage, 3 ft (90 cm) apart, not pruned", "ncsu"),
            ),
            "Changes support, side shoots, lowering and spacing of tall tomatoes.",
        ),
        Setting(
            "set_day_limit",
            "Above which day temperature does fruit set suffer?",
            (
                Choice("90", "90 °F (32 °C)", "ohio"),
                Choice("85", "85 °F (29 °C)", "iowa"),
                Choice("95", "95 °F (35 °C)", "bosland"),
            ),
            "Moves the start of shading.",
        ),
        Setting(
            "rotation_gap",
            "How many years does a family stay away from a bed?",
            (
                Choice("3", "Three", "nmsu_rotation"),
                Choice("2", "Two", "wvu"),
                Choice("4", "Four", "nmsu_rotation"),
            ),
            "Changes what may follow in a bed.",
        ),
        Setting(
            "perennial_bed",
            "Where does a kept pepper go when its bed's family is due for a rest?",
            (
                Choice("stay", "It stays, and the bed is watched for disease", "practice"),
                Choice("move", "It is replanted in another bed", "practice"),
            ),
            "Changes what replanting and the bed page say.",
            beside=("rotation_gap",),
        ),
        Setting(
            "pepper_seed_life",
            "How long does pepper seed stay good in favourable storage?",
            (
                Choice("2", "Two years", "iowa_seed"),
                Choice("3", "Three years", "watts"),
            ),
            "Moves when old pepper seed is tested before sowing.",
        ),
        Setting(
            "frost_kill",
            "When would you cover a plant that would be killed?",
            (
                Choice("20", "From a chance of 1 in 20: a plant is worth 20 evenings", "murphy"),
                Choice("5", "From a chance of 1 in 5: a plant is worth 5 evenings", "murphy"),
                Choice("10", "From a chance of 1 in 10: a plant is worth 10 evenings", "murphy"),
                Choice("50", "From a chance of 1 in 50: a plant is worth 50 evenings", "murphy"),
                Choice("100", "From a chance of 1 in 100: a plant is worth 100 evenings", "murphy"),
                *(
                    Choice(
                        f"{MISS}{nights}",
                        f"So that at most one killing night in {nights} is missed on this "
                        "site’s record",
                        "richardson",
                    )
                    for nights in (10, 20, 50, 100)
                ),
            ),
            "Changes from which chance a frost night is called, and how many evenings that takes.",
            plans=False,
        ),
        Setting(
            "frost_harm",
            "When would you cover a plant that would be harmed, not killed?",
            (
                Choice("5", "From a chance of 1 in 5", "murphy"),
                Choice("2", "From a chance of 1 in 2", "murphy"),
                Choice("10", "From a chance of 1 in 10", "murphy"),
                Choice("20", "From a chance of 1 in 20", "murphy"),
            ),
            "Changes from which chance a night of frost on the leaves is called.",
            plans=False,
        ),
    )
}


@dataclass(frozen=True, slots=True)
class Policy:
    """The choices a site made; what it did not choose stands at its default."""

    chosen: tuple[tuple[str, str], ...] = ()

    def of(self, key: str) -> str:
        """Return the choice in force. Raises KeyError for a setting that does not exist."""
        setting = SETTINGS[key]
        return dict(self.chosen).get(key, setting.default)


def policy_of(chosen: Mapping[str, str]) -> Policy:
    """Return the policy of these choices; raises ValueError for one that is not offered."""
    for key, value in chosen.items():
        if key not in SETTINGS:
            raise ValueError(f"There is no setting “{key}”.")
        SETTINGS[key].choice(value)
    return Policy(tuple(sorted(chosen.items())))


DEFAULTS = Policy()
"""Every setting at its default."""
