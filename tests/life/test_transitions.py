"""Every kind in every phase, under a roof and in the open, against a table written by hand."""

from datetime import date

import pytest

from lifecycle.life.fold import Fact, ImpossibleEntry, allowed_kinds, fold
from lifecycle.life.kinds import RULES, SOWING_NOTE_KINDS, Kind, rule_for
from lifecycle.life.phases import PLANT_PHASES, Phase
from tests.life.facts import fact, life_of, standing

LETTERS = {
    "s": Phase.SEEDLING, "h": Phase.HARDENING, "e": Phase.ESTABLISHING, "g": Phase.GROWING,
    "b": Phase.BEARING, "r": Phase.RESTING, "w": Phase.WAKING, "x": Phase.ENDED,
}  # fmt: skip
NOTHING_CHANGES = "s h e g b r w ."

# What each phase turns into, in the order of LETTERS: first under a roof, then in the open.
# A dot: refused.
PLANT = {
    "hardening": ("h . . h h . h .", "h . . . . . . ."),
    # One lifted before it took hold is set out once more.
    "planted_out": ("e e e e e . e .", "e e . . . . . ."),
    "first_growth": (". . g g . w w .", ". . g g . w g ."),
    "first_flower": ("s h g g . . w .", "s h g g . . g ."),
    "picked": (". . b b b . w .", ". . b b b . b ."),
    "lifted": (". . . . . . . .", ". . e g b r w ."),
    "cut_back": (". . e g g r w .", ". . e g g r w ."),
    "winter_quarters, resting": ("s . r r r r . .", "s . r r r r . ."),
    "winter_quarters, growing_on": ("s . g g b . . .", "s . g g b . . ."),
    "gone_to_rest": (". . . . . . . .", ". . r r r . . ."),
    "woken": (". . . . . w . .", ". . . . . w . ."),
    "fed": ("s h g g b r w .", "s h g g b r g ."),
    "winter_check": (". . e g b r w .", ". . e g b r w ."),
    # In growth: standing where it crops, or waking; these are not done to seedlings or at rest.
    "tied": (". . e g b . w .", ". . e g b . w ."),
    "side_shoots": (". . e g b . w .", ". . e g b . w ."),
    "lowered": (". . e g b . w .", ". . e g b . w ."),
    "pollinated": (". . e g b . w .", ". . e g b . w ."),
    # On a young plant, before and after it is set out; a woody one that wakes is past it.
    "pinched": ("s h e g b . . .", "s h e g b . . ."),
    "flowers_off": ("s h e g b . . .", "s h e g b . . ."),
    # Set in shade before it is moved in: it still stands where it crops.
    "acclimatised": (". . e g b . . .", ". . e g b . . ."),
    # Potted afresh under a roof; what stands in the open has to be lifted first.
    "repotted": ("s h e g b r w .", "s h . . . . . ."),
    "note": ("s h e g b r w x", "s h e g b r w x"),
    "ended": ("x x x x x x x .", "x x x x x x x ."),
} | dict.fromkeys(
    (
        *("watered", "pest_check", "reviewed", "covered", "uncovered", "moved", "handed_over"),
        *("split", "cutting_taken", "seed_saved", "damage", "mulched", "labelled", "staked"),
        *("shaded", "unshaded", "leached", "guarded", "looked_over", "symptom"),
        *("in_doubt", "settled"),
    ),
    (NOTHING_CHANGES, NOTHING_CHANGES),
)

SOWING_LETTERS = {
    "p": Phase.PLANNED, "o": Phase.SOWN, "s": Phase.SEEDLING, "x": Phase.ENDED,
}  # fmt: skip
SOWING = {
    "planned": ". . . .",
    "sown": "o . . .",
    "emerged": ". s s .",
    "potted_up": ". s s .",
    "seed_tested": "p . . .",
    "watered": ". o s .",
    "moved": ". o s .",
    "handed_over": "p o s .",
    # A crop sown where it stays, once it is up.
    "fed": ". . s .",
    "picked": ". . s .",
    "note": "p o s x",
    "ended": "x x x .",
}
DAY = date(2026, 2, 1)


def entry(kind: Kind, choice: str, *, inside: bool) -> Fact:
    rule = RULES[kind]
    quantity = 1 if rule.quantity is not None and rule.quantity.required else None
    choice = choice or next(iter(rule.choices), "")
    if kind is Kind.PLANTED_OUT:
        inside = False
    if kind is Kind.WINTER_QUARTERS:
        inside = True
    placed = inside if rule.needs_place else None
    return fact(kind, DAY, inside=placed, quantity=quantity, choice=choice)


def plant_cells() -> list[tuple[str, bool, Phase, Phase | None]]:
    cells = []
    for row, sides in PLANT.items():
        for inside, line in zip((True, False), sides, strict=True):
            for phase, letter in zip(LETTERS.values(), line.split(), strict=True):
                cells.append((row, inside, phase, LETTERS.get(letter)))
    return cells


def test_the_table_names_every_kind() -> None:
    plant = {Kind(row.split(",")[0]) for row in PLANT}
    begins = {kind for kind in Kind if RULES[kind].subject == "plant" and RULES[kind].begins}
    assert plant | begins | {Kind(row) for row in SOWING} == set(Kind)
    assert tuple(LETTERS.values()) == (*PLANT_PHASES, Phase.ENDED)
    of_sowings = {kind for kind in Kind if RULES[kind].subject == "sowing"}
    assert {Kind(row) for row in SOWING} == of_sowings | SOWING_NOTE_KINDS


@pytest.mark.parametrize(("row", "inside", "before", "after"), plant_cells())
def test_a_plant(row: str, inside: bool, before: Phase, after: Phase | None) -> None:
    kind, _, choice = row.partition(", ")
    facts = standing(before, inside=inside, number=2)
    new = entry(Kind(kind), choice, inside=inside)
    if after is None:
        with pytest.raises(ImpossibleEntry) as refusal:
            fold("plant", [*facts, new])
        assert refusal.value.fact is new
        assert RULES[Kind(kind)].label in str(refusal.value)
        assert str(refusal.value).endswith(".")
    else:
        assert life_of([*facts, new]).phase is after


def sowing_in(phase: Phase) -> list[Fact]:
    began = date(2026, 1, 1)
    facts = [fact(Kind.PLANNED, began)]
    if phase is not Phase.PLANNED:
        facts.append(fact(Kind.SOWN, began, quantity=20))
    if phase in (Phase.SEEDLING, Phase.ENDED):
        facts.append(fact(Kind.EMERGED, began, quantity=12))
    if phase is Phase.ENDED:
        facts.append(fact(Kind.ENDED, began, choice="done"))
    return facts


@pytest.mark.parametrize(
    ("kind", "before", "letter"),
    [
        (kind, before, letter)
        for kind, line in SOWING.items()
        for before, letter in zip(SOWING_LETTERS.values(), line.split(), strict=True)
    ],
)
def test_a_sowing(kind: str, before: Phase, letter: str) -> None:
    facts = sowing_in(before)
    new = fact(Kind(kind), DAY, quantity=3)
    if letter == ".":
        with pytest.raises(ImpossibleEntry):
            fold("sowing", [*facts, new])
    else:
        assert life_of([*facts, new], "sowing").phase is SOWING_LETTERS[letter]


@pytest.mark.parametrize("kind", [kind for kind in Kind if RULES[kind].begins])
@pytest.mark.parametrize("phase", [*PLANT_PHASES, Phase.ENDED])
def test_a_life_begins_once(kind: Kind, phase: Phase) -> None:
    again = fact(kind, DAY, quantity=1, choice="growing")
    with pytest.raises(ImpossibleEntry):
        fold("plant", [*standing(phase, inside=True), again])


@pytest.mark.parametrize("phase", PLANT_PHASES)
@pytest.mark.parametrize("inside", [True, False])
def test_what_is_offered_is_what_follows(phase: Phase, inside: bool) -> None:
    life = life_of(standing(phase, inside=inside))
    offered = {rule.kind for rule in allowed_kinds(life)}
    follows = {
        Kind(row.split(",")[0])
        for row, found_inside, before, after in plant_cells()
        if before is phase and found_inside is inside and after is not None
    }
    # Growing on and resting share one kind; what is written with another act is not offered.
    assert offered == {kind for kind in follows if rule_for(kind, "plant").by_hand}


def test_a_kind_of_the_other_subject_is_refused() -> None:
    with pytest.raises(ImpossibleEntry, match="does not belong in the record of a plant"):
        fold("plant", [*standing(Phase.GROWING, inside=False), fact(Kind.EMERGED, DAY)])
    with pytest.raises(ImpossibleEntry, match="does not belong in the record of a sowing"):
        fold("sowing", [*sowing_in(Phase.SOWN), fact(Kind.LIFTED, DAY)])
