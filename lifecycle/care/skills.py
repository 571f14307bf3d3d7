"""What some work asks of a person, beyond time: common practice, no source."""

from lifecycle.care.catalogue import STEP_RULES

SKILLS: dict[str, str] = {
    "ladder": "Ladder work",
    "sprayer": "Spraying",
    "lifting": "Heavy lifting",
    "water": "The water main",
}
"""By key, what a member can say they do."""

_BY_CAUTION = {"ladder": "ladder", "pesticide": "sprayer", "lifting": "lifting"}


def skill_for(step_kind: str) -> str:
    """Return the skill a kind of step asks for, by the cautions shown beside it, or ""."""
    cautions = STEP_RULES[step_kind].cautions
    return next((_BY_CAUTION[each] for each in cautions if each in _BY_CAUTION), "")
