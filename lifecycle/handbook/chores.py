"""Jobs of a garden that no plant asks for, to pick from."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lifecycle.handbook.facts import check_sourced

YEARLY = "years"
REPEATS = frozenset({"weeks", "months", YEARLY, "hard_freeze", "last_freeze"})


@dataclass(frozen=True, slots=True)
class Starter:
    """One job of the starter list, with whose word its days are.

    ``repeat`` and ``skill`` are keys as in ``care.chores`` and ``care.skills``; ``days`` counts
    from a hard freeze, ``open`` how many days later it may still be done; ``month`` is that of
    the north. ``cautions`` are keys of ``CAUTIONS``, beside those of the skill.
    """

    key: str
    label: str
    how: str
    repeat: str
    open: int
    minutes: int
    source: str
    mark: str
    every: int = 1
    days: int = 0
    month: int | None = None
    skill: str = ""
    cautions: tuple[str, ...] = ()


def made_starters(
    rows: Mapping[str, Mapping[str, Any]], cautions: Mapping[str, str], sources: Mapping[str, str]
) -> dict[str, Starter]:
    """Return the starter list. ValueError for a row that names what is not known."""
    made = {}
    for key, row in rows.items():
        check_sourced(key, row["source"], row["mark"], sources)
        starter = Starter(key=key, **{**row, "cautions": tuple(row.get("cautions", ()))})
        if starter.repeat not in REPEATS:
            raise ValueError(f"Handbook, {key}: there is no repeat “{starter.repeat}”.")
        if (starter.month is not None) is not (starter.repeat == YEARLY):
            raise ValueError(f"Handbook, {key}: a month goes with “{YEARLY}”, and only there.")
        unknown = set(starter.cautions) - set(cautions)
        if unknown:
            raise ValueError(f"Handbook, {key}: there is no caution “{unknown.pop()}”.")
        made[key] = starter
    return made
