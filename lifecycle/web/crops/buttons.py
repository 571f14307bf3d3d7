"""Which acts a page offers first, and which of them need no more than a tap."""

from collections.abc import Iterable
from uuid import UUID

from lifecycle.care.catalogue import STEP_RULES, steps_done_by
from lifecycle.handbook import CAUTIONS
from lifecycle.life.fold import Life, allowed_kinds
from lifecycle.life.kinds import Kind, KindRule
from lifecycle.life.phases import Phase
from lifecycle.records.work.doing import part_id

SHOWN_FIRST = 6
DUE_FIRST = 2
"""What is due has its own Done beside it, so the usual acts keep most of the places."""
_TALK = frozenset({Kind.NOTE, Kind.DAMAGE, Kind.ENDED})
# What people write down most in each phase, most likely first.
_LIKELY: dict[Phase, tuple[Kind, ...]] = {
    Phase.SOWN: (Kind.EMERGED, Kind.WATERED, Kind.MOVED),
    Phase.SEEDLING: (Kind.WATERED, Kind.EMERGED, Kind.FED, Kind.HARDENING, Kind.PLANTED_OUT),
    Phase.HARDENING: (Kind.PLANTED_OUT, Kind.WATERED, Kind.MOVED, Kind.COVERED, Kind.UNCOVERED),
    Phase.ESTABLISHING: (Kind.WATERED, Kind.FED, Kind.FIRST_FLOWER, Kind.PICKED, Kind.COVERED),
    Phase.GROWING: (Kind.WATERED, Kind.FED, Kind.FIRST_FLOWER, Kind.PICKED, Kind.CUT_BACK),
    Phase.BEARING: (Kind.PICKED, Kind.WATERED, Kind.FED, Kind.PEST_CHECK, Kind.CUT_BACK),
    Phase.RESTING: (Kind.WATERED, Kind.WINTER_CHECK, Kind.FIRST_GROWTH, Kind.WOKEN, Kind.CUT_BACK),
    Phase.WAKING: (Kind.WATERED, Kind.FED, Kind.HARDENING, Kind.PLANTED_OUT, Kind.PEST_CHECK),
}


def one_tap(rule: KindRule) -> bool:
    """Return whether a tap alone makes a whole entry of this kind."""
    asks = rule.choices or rule.needs_place or rule.kind in _TALK
    return not asks and not (rule.quantity is not None and rule.quantity.required)


def log_buttons(life: Life, due: Iterable[Kind]) -> tuple[list[KindRule], list[KindRule]]:
    """Return the acts to show first, and the others that are allowed now.

    First what is due soonest, then what is usual in this phase.
    """
    allowed = {rule.kind: rule for rule in allowed_kinds(life)}
    soonest = [kind for kind in dict.fromkeys(due) if kind in allowed][:DUE_FIRST]
    wanted = [*soonest, *_LIKELY.get(life.phase, ()), *allowed]
    ranked = [allowed[kind] for kind in dict.fromkeys(wanted) if kind in allowed]
    return ranked[:SHOWN_FIRST], ranked[SHOWN_FIRST:]


def due_acts(step_kinds: Iterable[str]) -> list[Kind]:
    """Return the acts that do these steps, in the same order; no entry does a chore."""
    return [STEP_RULES[kind].done_by for kind in step_kinds if kind in STEP_RULES]


def cautions_of(kinds: Iterable[Kind]) -> list[str]:
    """Return what can hurt when these acts are done, each caution once."""
    keys = (
        caution
        for kind in kinds
        for step in steps_done_by(kind)
        for caution in STEP_RULES[step].cautions
    )
    return [CAUTIONS[key] for key in dict.fromkeys(keys)]


def act_id(form_id: UUID, code: str, kind: str) -> UUID:
    """Return the id of the entry that this form writes for one record and kind.

    A page carries one id for all its buttons; the same button twice is the same entry.
    """
    return part_id(form_id, code, kind)
