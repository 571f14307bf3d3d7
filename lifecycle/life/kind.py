"""What an entry kind is: its name, the quantity it may carry, and the rule it follows."""

from dataclasses import dataclass, field
from enum import StrEnum

from lifecycle.life.phases import Phase


class Kind(StrEnum):
    """What happened."""

    # a sowing
    PLANNED = "planned"
    SOWN = "sown"
    EMERGED = "emerged"
    POTTED_UP = "potted_up"
    # the beginning of a plant
    RAISED = "raised"
    INHERITED = "inherited"
    STRUCK_CUTTING = "struck_cutting"
    SPLIT_OFF = "split_off"
    # moves through life
    HARDENING = "hardening"
    PLANTED_OUT = "planted_out"
    FIRST_GROWTH = "first_growth"
    FIRST_FLOWER = "first_flower"
    PICKED = "picked"
    LIFTED = "lifted"
    CUT_BACK = "cut_back"
    WINTER_QUARTERS = "winter_quarters"
    GONE_TO_REST = "gone_to_rest"
    WOKEN = "woken"
    # care that leaves the phase alone
    WATERED = "watered"
    FED = "fed"
    PEST_CHECK = "pest_check"
    WINTER_CHECK = "winter_check"
    REVIEWED = "reviewed"
    COVERED = "covered"
    UNCOVERED = "uncovered"
    MOVED = "moved"
    HANDED_OVER = "handed_over"
    SPLIT = "split"
    CUTTING_TAKEN = "cutting_taken"
    SEED_SAVED = "seed_saved"
    LABELLED = "labelled"
    MULCHED = "mulched"
    STAKED = "staked"
    TIED = "tied"
    PINCHED = "pinched"
    SIDE_SHOOTS = "side_shoots"
    LOWERED = "lowered"
    FLOWERS_OFF = "flowers_off"
    SHADED = "shaded"
    UNSHADED = "unshaded"
    POLLINATED = "pollinated"
    REPOTTED = "repotted"
    LEACHED = "leached"
    ACCLIMATISED = "acclimatised"
    GUARDED = "guarded"
    LOOKED_OVER = "looked_over"
    SYMPTOM = "symptom"
    IN_DOUBT = "in_doubt"
    SETTLED = "settled"
    SEED_TESTED = "seed_tested"
    DAMAGE = "damage"
    NOTE = "note"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity an entry may carry: what it counts, its unit and its bounds."""

    label: str
    unit: str
    low: float
    high: float
    whole: bool = False
    required: bool = False


@dataclass(frozen=True, slots=True)
class KindRule:
    """Everything the record needs to know of one entry kind."""

    kind: Kind
    label: str
    subject: str  # "sowing" or "plant"
    leads_to: dict[Phase, Phase]
    begins: bool = False
    quantity: Quantity | None = None
    choices: dict[str, str] = field(default_factory=dict)
    choice_label: str = ""
    leads_by_choice: dict[str, dict[Phase, Phase]] = field(default_factory=dict)
    leads_in_the_open: dict[Phase, Phase] = field(default_factory=dict)
    needs_place: bool = False
    roof: bool | None = None  # True: only under a roof; False: only in the open
    by_hand: bool = True  # False: written only together with another act
