"""A frost night in sentences, for its page and for messages. Temperatures stay in braces, in C."""

import re
from collections.abc import Sequence

from lifecycle.care.frost_night import Action

_LEAST_CHANCES = (10, 12, 15, 20, 30, 50, 100)
_TRAILING_NUMBER = re.compile(r"(.*?)(\d+)")

ACTION_WORDS: dict[Action, str] = {
    Action.LEAVE: "Leave",
    Action.COVER: "Cover",
    Action.BRING_IN: "Bring in",
    Action.NOT_ENOUGH: "Cover; it may not be enough",
}
"""What to do, as it stands in the walking-order list."""


def chance_words(chance: float) -> str:
    """Return a chance from 0 to 1 as people count: "7 in 10", "1 in 20"."""
    if chance > 0.95:
        return "more than 19 in 20"
    tenths = round(chance * 10)
    if tenths >= 2:
        return f"{min(tenths, 9)} in 10"
    if chance < 0.01:
        return "less than 1 in 100"
    nearest = min(_LEAST_CHANCES, key=lambda number: abs(number - 1 / chance))
    return f"1 in {nearest}"


def ratio_words(ratio: float) -> str:
    """Return the chance from which a site acts: "1 in 20"."""
    return f"1 in {round(1 / ratio)}"


def rule_words(kill: tuple[float, float], harm: tuple[float, float]) -> str:
    """Return which rule fired, or that none did; each pair is a chance and its ratio."""
    if kill[0] >= kill[1]:
        return (
            f"Acts because the chance that plants are killed, {chance_words(kill[0])}, is at "
            f"least {ratio_words(kill[1])}, the chance this site acts at."
        )
    if harm[0] >= harm[1]:
        return (
            f"Acts because the chance that plants are harmed, {chance_words(harm[0])}, is at "
            f"least {ratio_words(harm[1])}, the chance this site acts at."
        )
    return (
        f"Does not act: the chance of killing is {chance_words(kill[0])} and the site acts from "
        f"{ratio_words(kill[1])}; of harm {chance_words(harm[0])}, from {ratio_words(harm[1])}."
    )


def calm_words(calm: bool | None) -> str:
    """Return what the wind means for covers."""
    if calm is None:
        return "Wind not known: covers are counted at the least they give"
    if calm:
        return "Still air: covers work"
    return "Windy: covers work poorly, bring in what can be moved"


def work_words(cover: int, places: int, carry: int, places_word: str = "bed") -> str:
    """Return the work in a few words: "cover 14 plants in 3 beds and bring in 6"."""
    parts = []
    if cover:
        where = f"{places} {places_word}{'' if places == 1 else 's'}"
        parts.append(f"cover {cover} plant{'' if cover == 1 else 's'} in {where}")
    if carry:
        what = "" if cover else f" plant{'' if carry == 1 else 's'}"
        parts.append(f"bring in {carry}{what}")
    return " and ".join(parts)


def likelihood(harm_chance: float) -> str:
    """Return "Frost likely" from an even chance on, else "Frost may come"."""
    return "Frost likely" if harm_chance >= 0.5 else "Frost may come"


def places_words(names: Sequence[str], most: int = 4) -> str:
    """Return places by name in walking order: "Bed 1 to 4", "Bed 2 and Shed wall".

    ``most`` are named; the others are counted.
    """
    run = _run(names)
    if run is not None:
        return run
    shown = list(names[:most])
    rest = len(names) - len(shown)
    if rest:
        return f"{', '.join(shown)} and {rest} more"
    *first, last = shown or [""]
    return f"{', '.join(first)} and {last}" if first else last


def _run(names: Sequence[str]) -> str | None:
    """Return names that count up by one in one phrase, or None where they do not."""
    found = [_TRAILING_NUMBER.fullmatch(name) for name in names]
    if len(names) < 3 or not all(found):
        return None
    parts = [(match[1], int(match[2])) for match in found if match]
    first = parts[0][1]
    wanted = [(parts[0][0], first + step) for step in range(len(parts))]
    return f"{names[0]} to {wanted[-1][1]}" if parts == wanted else None


def impact_words(crops: Sequence[str], kill_chance: float, *, killing: bool) -> str:
    """Return what becomes of uncovered plants; ``killing``: the rule of killing fired.

    ``crops`` are names in the plural, such as "peppers".
    """
    if not crops:
        return ""
    named = crops[0] if len(crops) == 1 else f"{', '.join(crops[:-1])} and {crops[-1]}"
    if killing:
        return f"Uncovered {named} {'will' if kill_chance >= 0.5 else 'may'} die."
    return f"Uncovered {named} may be harmed."
