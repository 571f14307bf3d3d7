"""The entry kinds: what can be written in the record, when, and what it does to the phase.

One row a kind. ``leads_to`` maps each phase in which the kind may be logged to the phase
after it, so a kind that is missing from a phase cannot be logged there; where the answer
depends on the choice made, ``leads_by_choice`` goes first, and ``leads_in_the_open`` for a
plant that wakes where it stands. ``roof`` narrows the phases of a plant that crops, rests
or wakes: hardening begins from under a roof, lifting starts in the open. A kind with
``begins`` is the first entry of a life and may be logged only once. Care that leaves the
phase alone is in ``care_kinds``.
"""

from collections.abc import Iterable

from lifecycle.life.care_kinds import CARE_RULES, FEED, LITRES
from lifecycle.life.kind import Kind, KindRule, Quantity
from lifecycle.life.phases import OUTSIDE, PHASE_LABELS, PLANT_PHASES, Phase, Route

__all__ = ["RULES", "SOWING_NOTE_KINDS", "Kind", "KindRule", "Quantity", "rule_for"]


def _same(phases: Iterable[Phase]) -> dict[Phase, Phase]:
    return {phase: phase for phase in phases}


_STANDS = {phase.value: PHASE_LABELS[phase] for phase in PLANT_PHASES}
_ALIVE = _same(PLANT_PHASES)
_ANY = _same((*PLANT_PHASES, Phase.ENDED))
_KEPT_INSIDE = (Phase.WAKING, Phase.GROWING, Phase.BEARING)

ON_ONE_LABEL = Quantity("Plants on one label", "count", 1, 2, whole=True, required=True)
FRUIT = Quantity("Weight picked", "g", 0, 50_000)
HEIGHT = Quantity("Height left", "cm", 1, 300)

_RULES = [
    KindRule(Kind.PLANNED, "Planned", "sowing", {}, begins=True, by_hand=False),
    KindRule(
        Kind.SOWN,
        "Sown",
        "sowing",
        {Phase.PLANNED: Phase.SOWN},
        begins=True,
        quantity=Quantity("Seeds sown", "count", 1, 10_000, whole=True, required=True),
    ),
    KindRule(
        Kind.EMERGED,
        "Emerged",
        "sowing",
        {Phase.SOWN: Phase.SEEDLING, Phase.SEEDLING: Phase.SEEDLING},
        quantity=Quantity("Seedlings up, in all", "count", 1, 10_000, whole=True, required=True),
    ),
    KindRule(
        Kind.POTTED_UP,
        "Potted up",
        "sowing",
        {Phase.SOWN: Phase.SEEDLING, Phase.SEEDLING: Phase.SEEDLING},
        quantity=Quantity("Seedlings potted up", "count", 1, 200, whole=True, required=True),
        by_hand=False,
    ),
    KindRule(
        Kind.RAISED,
        "Potted up from a sowing",
        "plant",
        {},
        begins=True,
        quantity=ON_ONE_LABEL,
        by_hand=False,
    ),
    KindRule(
        Kind.INHERITED,
        "Taken over, history unknown",
        "plant",
        {},
        begins=True,
        quantity=ON_ONE_LABEL,
        choices=_STANDS,
        choice_label="Where it stands now",
        by_hand=False,
    ),
    KindRule(
        Kind.STRUCK_CUTTING,
        "Struck as a cutting",
        "plant",
        {},
        begins=True,
        quantity=ON_ONE_LABEL,
        by_hand=False,
    ),
    KindRule(
        Kind.SPLIT_OFF,
        "Split off from a pair",
        "plant",
        {},
        begins=True,
        quantity=ON_ONE_LABEL,
        choices=_STANDS,
        choice_label="Where it stands now",
        by_hand=False,
    ),
    KindRule(
        Kind.HARDENING,
        "Hardening off begun",
        "plant",
        dict.fromkeys((Phase.SEEDLING, *_KEPT_INSIDE), Phase.HARDENING),
        roof=True,
    ),
    KindRule(
        Kind.PLANTED_OUT,
        "Planted out",
        "plant",
        # One lifted before it took hold is set out once more.
        dict.fromkeys(
            (Phase.SEEDLING, Phase.HARDENING, Phase.ESTABLISHING, *_KEPT_INSIDE),
            Phase.ESTABLISHING,
        ),
        needs_place=True,
        roof=True,
    ),
    KindRule(
        Kind.FIRST_GROWTH,
        "First growth",
        "plant",
        {
            Phase.RESTING: Phase.WAKING,
            Phase.WAKING: Phase.WAKING,
            Phase.ESTABLISHING: Phase.GROWING,
            Phase.GROWING: Phase.GROWING,
        },
        leads_in_the_open={Phase.WAKING: Phase.GROWING},
    ),
    KindRule(
        Kind.FIRST_FLOWER,
        "First flower",
        "plant",
        {
            Phase.SEEDLING: Phase.SEEDLING,
            Phase.HARDENING: Phase.HARDENING,
            Phase.ESTABLISHING: Phase.GROWING,
            Phase.GROWING: Phase.GROWING,
            Phase.WAKING: Phase.WAKING,
        },
        leads_in_the_open={Phase.WAKING: Phase.GROWING},
    ),
    KindRule(
        Kind.PICKED,
        "Picked",
        "plant",
        {
            Phase.ESTABLISHING: Phase.BEARING,
            Phase.GROWING: Phase.BEARING,
            Phase.BEARING: Phase.BEARING,
            Phase.WAKING: Phase.WAKING,
        },
        leads_in_the_open={Phase.WAKING: Phase.BEARING},
        quantity=FRUIT,
    ),
    KindRule(
        Kind.LIFTED,
        "Lifted",
        "plant",
        _same((*sorted(OUTSIDE), Phase.RESTING, Phase.WAKING)),
        roof=False,
    ),
    KindRule(
        Kind.CUT_BACK,
        "Cut back",
        "plant",
        {
            Phase.ESTABLISHING: Phase.ESTABLISHING,
            Phase.GROWING: Phase.GROWING,
            Phase.BEARING: Phase.GROWING,
            Phase.RESTING: Phase.RESTING,
            Phase.WAKING: Phase.WAKING,
        },
        quantity=HEIGHT,
    ),
    KindRule(
        Kind.WINTER_QUARTERS,
        "Into winter quarters",
        "plant",
        {
            Phase.ESTABLISHING: Phase.RESTING,
            Phase.GROWING: Phase.RESTING,
            Phase.BEARING: Phase.RESTING,
            Phase.RESTING: Phase.RESTING,
            Phase.SEEDLING: Phase.SEEDLING,
        },
        choices={
            Route.RESTING.value: "To rest, cool",
            Route.GROWING_ON.value: "To grow on, bright",
        },
        choice_label="How it spends the winter",
        leads_by_choice={
            Route.GROWING_ON.value: {
                Phase.ESTABLISHING: Phase.GROWING,
                Phase.GROWING: Phase.GROWING,
                Phase.BEARING: Phase.BEARING,
                Phase.SEEDLING: Phase.SEEDLING,
            },
        },
        needs_place=True,
    ),
    KindRule(
        Kind.GONE_TO_REST,
        "Gone to rest where it stands",
        "plant",
        {
            Phase.ESTABLISHING: Phase.RESTING,
            Phase.GROWING: Phase.RESTING,
            Phase.BEARING: Phase.RESTING,
        },
        roof=False,
    ),
    KindRule(Kind.WOKEN, "Woken", "plant", {Phase.RESTING: Phase.WAKING}),
    KindRule(
        Kind.REVIEWED,
        "Keep or let go decided",
        "plant",
        _ALIVE,
        choices={
            Route.IN_GROUND.value: "Keep, in the ground",
            Route.RESTING.value: "Keep, lift and rest",
            Route.GROWING_ON.value: "Keep, lift and grow on",
            Route.CUTTING.value: "Keep as a cutting",
            Route.LET_GO.value: "Let go, seed kept",
        },
        choice_label="Decision",
    ),
    KindRule(Kind.NOTE, "Note", "plant", _ANY),
    KindRule(
        Kind.ENDED,
        "Ended",
        "plant",
        dict.fromkeys(PLANT_PHASES, Phase.ENDED),
        choices={"died": "Died", "removed": "Removed", "given_away": "Given away"},
        choice_label="How it ended",
    ),
]

RULES: dict[Kind, KindRule] = {rule.kind: rule for rule in (*_RULES, *CARE_RULES)}

SOWING_NOTE_KINDS: frozenset[Kind] = frozenset(
    {Kind.NOTE, Kind.ENDED, Kind.WATERED, Kind.MOVED, Kind.HANDED_OVER, Kind.FED, Kind.PICKED}
)
"""Plant kinds that a sowing's record takes as well."""


def rule_for(kind: Kind, subject: str) -> KindRule:
    """Return the rule of ``kind`` for a ``"sowing"`` or a ``"plant"``.

    Raises KeyError when the kind does not belong to that subject.
    """
    rule = RULES[kind]
    if rule.subject == subject:
        return rule
    if subject == "sowing" and kind in SOWING_NOTE_KINDS:
        return _SOWING_RULES[kind]
    raise KeyError(kind)


_SOWING_ALIVE = _same((Phase.SOWN, Phase.SEEDLING))
_SOWING_RULES = {
    Kind.NOTE: KindRule(
        Kind.NOTE,
        "Note",
        "sowing",
        _same((Phase.PLANNED, Phase.SOWN, Phase.SEEDLING, Phase.ENDED)),
    ),
    Kind.WATERED: KindRule(Kind.WATERED, "Watered", "sowing", _SOWING_ALIVE, quantity=LITRES),
    Kind.MOVED: KindRule(Kind.MOVED, "Moved", "sowing", _SOWING_ALIVE, needs_place=True),
    Kind.HANDED_OVER: KindRule(
        Kind.HANDED_OVER,
        "Handed over",
        "sowing",
        _same((Phase.PLANNED, Phase.SOWN, Phase.SEEDLING)),
        by_hand=False,
    ),
    # A crop sown where it stays is fed and picked as the sowing it is.
    Kind.FED: KindRule(Kind.FED, "Fed", "sowing", _same((Phase.SEEDLING,)), quantity=FEED),
    Kind.PICKED: KindRule(
        Kind.PICKED, "Picked", "sowing", _same((Phase.SEEDLING,)), quantity=FRUIT
    ),
    Kind.ENDED: KindRule(
        Kind.ENDED,
        "Ended",
        "sowing",
        dict.fromkeys((Phase.PLANNED, Phase.SOWN, Phase.SEEDLING), Phase.ENDED),
        choices={
            "done": "All potted up, or picked and cleared",
            "failed": "Failed",
            "removed": "Given up",
        },
        choice_label="How it ended",
    ),
}
