"""The entry kinds of care: what a person did to a plant, or saw on it, without moving it on.

Rows follow the rules of ``kinds``, which joins them to the rest.
"""

from collections.abc import Iterable

from lifecycle.handbook import SYMPTOMS
from lifecycle.life.kind import Kind, KindRule, Quantity
from lifecycle.life.phases import OUTSIDE, PLANT_PHASES, Phase

LITRES = Quantity("Water", "litre", 0.01, 200)
FEED = Quantity("Feed given", "g", 0.1, 5000)


def _same(phases: Iterable[Phase]) -> dict[Phase, Phase]:
    return {phase: phase for phase in phases}


_ALIVE = _same(PLANT_PHASES)
_IN_GROWTH = _same((*OUTSIDE, Phase.WAKING))
_UNDER_ROOF_OR_OUT = _same((*OUTSIDE, Phase.RESTING, Phase.WAKING))
_YOUNG = _same((Phase.SEEDLING, Phase.HARDENING, *OUTSIDE))


def _care(kind: Kind, label: str, phases: dict[Phase, Phase]) -> KindRule:
    return KindRule(kind, label, "plant", phases)


CARE_RULES: tuple[KindRule, ...] = (
    KindRule(Kind.WATERED, "Watered", "plant", _ALIVE, quantity=LITRES),
    KindRule(
        Kind.FED,
        "Fed",
        "plant",
        {**_ALIVE, Phase.ESTABLISHING: Phase.GROWING},
        leads_in_the_open={Phase.WAKING: Phase.GROWING},
        quantity=FEED,
    ),
    _care(Kind.MULCHED, "Mulched", _ALIVE),
    _care(Kind.LABELLED, "Label made or renewed", _ALIVE),
    KindRule(
        Kind.STAKED,
        "Support set",
        "plant",
        _ALIVE,
        choices={
            "stake": "Stake",
            "stout": "Stout stake or trellis",
            "cage": "Cage",
            "string": "String",
        },
        choice_label="Which support",
    ),
    _care(Kind.TIED, "Tied or wound on", _IN_GROWTH),
    _care(Kind.PINCHED, "Tip pinched out", _YOUNG),
    _care(Kind.SIDE_SHOOTS, "Side shoots taken out", _IN_GROWTH),
    _care(Kind.LOWERED, "Lowered and hung again", _IN_GROWTH),
    _care(Kind.FLOWERS_OFF, "First flowers taken off", _YOUNG),
    _care(Kind.SHADED, "Shade put up", _ALIVE),
    _care(Kind.UNSHADED, "Shade taken down", _ALIVE),
    _care(Kind.POLLINATED, "Pollinated by hand", _IN_GROWTH),
    KindRule(Kind.REPOTTED, "Repotted, roots trimmed", "plant", _ALIVE, roof=True),
    _care(Kind.LEACHED, "Salts washed out of the pot", _ALIVE),
    _care(Kind.ACCLIMATISED, "Set in shade before moving in", _same(OUTSIDE)),
    _care(Kind.GUARDED, "Guarded against burrowing and gnawing animals", _ALIVE),
    KindRule(
        Kind.PEST_CHECK,
        "Checked for pests",
        "plant",
        _ALIVE,
        choices={"clean": "Clean", "treated": "Found and treated", "heavy": "Heavy, do not keep"},
        choice_label="What was found",
    ),
    KindRule(
        Kind.WINTER_CHECK,
        "Winter check",
        "plant",
        _UNDER_ROOF_OR_OUT,
        choices={"sound": "Sound", "soft": "Soft or damaged", "not_found": "Not found"},
        choice_label="What was found",
    ),
    KindRule(
        Kind.LOOKED_OVER,
        "Looked over after bad weather",
        "plant",
        _ALIVE,
        choices={"sound": "Sound", "torn": "Torn, trimmed", "bad": "Badly hurt, wait and see"},
        choice_label="What was found",
    ),
    KindRule(
        Kind.SYMPTOM,
        "Something looks wrong",
        "plant",
        _ALIVE,
        choices={
            **{symptom.key: symptom.label for symptom in SYMPTOMS.values()},
            "other": "Something else",
        },
        choice_label="What is seen",
    ),
    KindRule(
        Kind.IN_DOUBT,
        "Not sure which plant this is",
        "plant",
        _ALIVE,
        choices={
            "faded": "Label faded",
            "lost": "Label lost",
            "swapped": "May have swapped with another",
        },
        choice_label="Why",
        by_hand=False,
    ),
    KindRule(
        Kind.SETTLED,
        "Settled which plant this is",
        "plant",
        _ALIVE,
        choices={
            "fruit": "By its fruit",
            "flower": "By its flower",
            "leaf": "By leaf or habit",
            "papers": "By notes or a photo",
        },
        choice_label="How it was settled",
        by_hand=False,
    ),
    KindRule(
        Kind.SEED_TESTED,
        "Seed tested",
        "sowing",
        {Phase.PLANNED: Phase.PLANNED},
        quantity=Quantity("Sprouted", "%", 0, 100, required=True),
        by_hand=False,
    ),
    _care(Kind.COVERED, "Covered", _ALIVE),
    _care(Kind.UNCOVERED, "Uncovered", _ALIVE),
    KindRule(Kind.MOVED, "Moved", "plant", _ALIVE, needs_place=True),
    KindRule(Kind.HANDED_OVER, "Handed over", "plant", _ALIVE, by_hand=False),
    KindRule(Kind.SPLIT, "Pair split", "plant", _ALIVE, by_hand=False),
    KindRule(Kind.CUTTING_TAKEN, "Cutting taken", "plant", _ALIVE, by_hand=False),
    KindRule(
        Kind.SEED_SAVED,
        "Seed saved",
        "plant",
        _ALIVE,
        quantity=Quantity("Seeds kept", "count", 1, 100_000, whole=True),
        by_hand=False,
    ),
    KindRule(
        Kind.DAMAGE,
        "Damage",
        "plant",
        _ALIVE,
        choices={
            "frost": "Frost",
            "cold": "Cold shock",
            "heat": "Heat or scald",
            "hail": "Hail",
            "flood": "Flood",
            "wind": "Wind",
            "pest": "Pest",
            "disease": "Disease",
            "animal": "Animal",
            "other": "Other",
        },
        choice_label="What did it",
    ),
)
