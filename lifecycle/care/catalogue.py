"""The kinds of step: what each is called, which entry does it, what it needs, what can hurt."""

from dataclasses import dataclass

from lifecycle.life.kinds import Kind


@dataclass(frozen=True, slots=True)
class StepRule:
    """One kind of step. ``one_tap`` steps need nothing but the tap."""

    kind: str
    label: str
    done_by: Kind
    one_tap: bool = True
    cautions: tuple[str, ...] = ()
    choice: str = ""  # what a plain Done records where the entry takes a choice


STEP_RULES: dict[str, StepRule] = {
    rule.kind: rule
    for rule in (
        StepRule("sow", "Sow", Kind.SOWN, one_tap=False),
        StepRule("emergence", "Look for seedlings", Kind.EMERGED, one_tap=False),
        StepRule("pot_up", "Pot up", Kind.POTTED_UP, one_tap=False),
        StepRule("harden", "Harden off", Kind.HARDENING),
        StepRule("plant_out", "Plant out", Kind.PLANTED_OUT, one_tap=False, cautions=("leaves",)),
        StepRule("first_feed", "Give the first feed", Kind.FED),
        StepRule("feed", "Feed", Kind.FED),
        StepRule("review", "Decide: keep or let go", Kind.REVIEWED, one_tap=False),
        StepRule(
            "pest_check",
            "Check for pests and clean up",
            Kind.PEST_CHECK,
            cautions=("pesticide",),
            choice="clean",
        ),
        StepRule("lift", "Lift", Kind.LIFTED, cautions=("lifting",)),
        StepRule("cut_back", "Cut back", Kind.CUT_BACK, cautions=("capsaicin", "tools", "leaves")),
        StepRule(
            "winter_quarters",
            "Bring into winter quarters",
            Kind.WINTER_QUARTERS,
            one_tap=False,
            cautions=("lifting", "heat"),
        ),
        StepRule("winter_water", "Water sparingly", Kind.WATERED),
        StepRule("winter_check", "Winter check", Kind.WINTER_CHECK, choice="sound"),
        StepRule(
            "take_cutting", "Take cuttings", Kind.CUTTING_TAKEN, one_tap=False, cautions=("tools",)
        ),
        StepRule(
            "let_go", "Save seed and clear", Kind.ENDED, one_tap=False, cautions=("capsaicin",)
        ),
        StepRule("wake", "Wake", Kind.WOKEN, cautions=("heat",)),
        StepRule("harden_again", "Harden off again", Kind.HARDENING),
        StepRule("replant", "Replant", Kind.PLANTED_OUT, one_tap=False, cautions=("lifting",)),
    )
}

_BY_ENTRY: dict[Kind, tuple[str, ...]] = {}
for _rule in STEP_RULES.values():
    _BY_ENTRY[_rule.done_by] = (*_BY_ENTRY.get(_rule.done_by, ()), _rule.kind)


def steps_done_by(kind: Kind) -> tuple[str, ...]:
    """Return the kinds of step that an entry of ``kind`` does."""
    return _BY_ENTRY.get(kind, ())
