"""The kinds of step: what each is called, which entry does it, what it needs, what can hurt."""

from dataclasses import dataclass

from lifecycle.life.kinds import Kind


@dataclass(frozen=True, slots=True)
class StepRule:
    """One kind of step. ``one_tap`` steps need nothing but the tap.

    ``or_by`` are other entries that do it as well; ``series`` names the steps of which one
    entry does only one, where they are not of this kind alone. ``routine``: one of a round of
    steps. ``patient``: others wait for it, or it keeps. Both stay until they are done or their
    season ends; other steps leave the plan some weeks after their window.
    """

    kind: str
    label: str
    done_by: Kind
    one_tap: bool = True
    cautions: tuple[str, ...] = ()
    choice: str = ""  # what a plain Done records where the entry takes a choice
    or_by: tuple[Kind, ...] = ()
    series: str = ""
    routine: bool = False
    patient: bool = False


_RAISING = (
    StepRule("seed_test", "Test old seed", Kind.SEED_TESTED, one_tap=False),
    StepRule("sow", "Sow", Kind.SOWN, one_tap=False),
    StepRule("emergence", "Look for seedlings", Kind.EMERGED, one_tap=False),
    StepRule("pot_up", "Pot up", Kind.POTTED_UP, one_tap=False),
    StepRule("pinch", "Pinch out the tip", Kind.PINCHED),
    StepRule("harden", "Harden off", Kind.HARDENING),
    StepRule("plant_out", "Plant out", Kind.PLANTED_OUT, one_tap=False, cautions=("leaves",)),
    StepRule("water_in", "Water in", Kind.WATERED),
    StepRule("label", "Label it", Kind.LABELLED),
    StepRule("mulch", "Mulch", Kind.MULCHED),
)
_GROWING = (
    StepRule("stake", "Stake", Kind.STAKED, choice="stake"),
    StepRule("stake_stout", "Set a stout stake", Kind.STAKED, choice="stout"),
    StepRule("cage", "Set a cage", Kind.STAKED, choice="cage"),
    StepRule("string", "Hang a string", Kind.STAKED, choice="string", cautions=("ladder",)),
    StepRule("tie", "Tie to the stake", Kind.TIED),
    StepRule(
        "side_shoots", "Take out side shoots", Kind.SIDE_SHOOTS, cautions=("virus",), routine=True
    ),
    StepRule("wind_on", "Wind onto the string", Kind.TIED, routine=True),
    StepRule("lower", "Lower and hang again", Kind.LOWERED, cautions=("ladder",), routine=True),
    StepRule("flowers_off", "Take off first flowers", Kind.FLOWERS_OFF),
    StepRule("first_feed", "Give the first feed", Kind.FED, series="feed", patient=True),
    StepRule("feed", "Feed", Kind.FED, series="feed", routine=True),
    StepRule("shade", "Put up shade", Kind.SHADED),
    StepRule("unshade", "Take down shade", Kind.UNSHADED),
    StepRule("harvest", "Pick", Kind.PICKED, cautions=("capsaicin",), routine=True),
    StepRule("clear", "Clear it", Kind.ENDED, one_tap=False),
)
_AUTUMN = (
    StepRule("review", "Decide: keep or let go", Kind.REVIEWED, one_tap=False),
    StepRule(
        "pest_check",
        "Check for pests and clean up",
        Kind.PEST_CHECK,
        cautions=("pesticide", "soap"),
        choice="clean",
    ),
    StepRule("label_check", "Check the label", Kind.LABELLED),
    StepRule(
        "backup",
        "Keep seed or a cutting as a back-up",
        Kind.SEED_SAVED,
        one_tap=False,
        cautions=("capsaicin", "tools"),
        or_by=(Kind.CUTTING_TAKEN,),
    ),
    StepRule("last_pick", "Last pick", Kind.PICKED, cautions=("capsaicin", "preserve")),
    StepRule("acclimatise", "Set in shade before moving in", Kind.ACCLIMATISED),
    StepRule("lift", "Lift", Kind.LIFTED, cautions=("lifting",)),
    StepRule(
        "cut_back", "Cut back", Kind.CUT_BACK, cautions=("capsaicin", "tools", "virus", "leaves")
    ),
    StepRule(
        "winter_quarters",
        "Bring into winter quarters",
        Kind.WINTER_QUARTERS,
        one_tap=False,
        cautions=("lifting", "heat"),
        patient=True,
    ),
    StepRule(
        "pot_out",
        "Stand it out in its pot",
        Kind.PLANTED_OUT,
        one_tap=False,
        cautions=("lifting",),
        patient=True,
    ),
    StepRule(
        "take_cutting", "Take cuttings", Kind.CUTTING_TAKEN, one_tap=False, cautions=("tools",)
    ),
    StepRule("let_go", "Save seed and clear", Kind.ENDED, one_tap=False, cautions=("capsaicin",)),
    StepRule("guard", "Guard against gnawing animals", Kind.GUARDED, patient=True),
)
_WINTER = (
    StepRule("winter_water", "Winter watering", Kind.WATERED, routine=True),
    StepRule(
        "winter_check",
        "Winter check",
        Kind.WINTER_CHECK,
        choice="sound",
        cautions=("lamps",),
        routine=True,
    ),
    StepRule("pollinate", "Pollinate by hand", Kind.POLLINATED, routine=True),
    StepRule("leach", "Wash salts out of the pot", Kind.LEACHED, routine=True),
)
_SPRING = (
    StepRule("wake", "Wake", Kind.WOKEN, cautions=("heat", "lamps"), patient=True),
    StepRule("repot", "Repot and trim roots", Kind.REPOTTED, cautions=("tools", "lifting")),
    StepRule("first_growth", "Look for first growth", Kind.FIRST_GROWTH, patient=True),
    StepRule("harden_again", "Harden off again", Kind.HARDENING, patient=True),
    StepRule("replant", "Replant", Kind.PLANTED_OUT, one_tap=False, cautions=("lifting",)),
)
_ANY_TIME = (
    StepRule("heat_water", "Water deeply in the heat", Kind.WATERED, routine=True),
    StepRule(
        "look_over",
        "Look over after bad weather",
        Kind.LOOKED_OVER,
        choice="sound",
        cautions=("tools", "flood"),
    ),
    StepRule(
        "settle_identity", "Settle which plant this is", Kind.SETTLED, one_tap=False, patient=True
    ),
    StepRule("renew_label", "Make a new label", Kind.LABELLED, patient=True),
)

STEP_RULES: dict[str, StepRule] = {
    rule.kind: rule for rule in (*_RAISING, *_GROWING, *_AUTUMN, *_WINTER, *_SPRING, *_ANY_TIME)
}

ROUTINE = frozenset(rule.kind for rule in STEP_RULES.values() if rule.routine)
PATIENT = frozenset(rule.kind for rule in STEP_RULES.values() if rule.patient)

_BY_ENTRY: dict[Kind, tuple[str, ...]] = {}
for _rule in STEP_RULES.values():
    for _kind in (_rule.done_by, *_rule.or_by):
        _BY_ENTRY[_kind] = (*_BY_ENTRY.get(_kind, ()), _rule.kind)


def steps_done_by(kind: Kind) -> tuple[str, ...]:
    """Return the kinds of step that an entry of ``kind`` does."""
    return _BY_ENTRY.get(kind, ())


def series_of(step_kind: str) -> str:
    """Return the series a step belongs to; of a series one entry does one step."""
    return STEP_RULES[step_kind].series or step_kind
