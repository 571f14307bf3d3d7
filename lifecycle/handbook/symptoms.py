"""What is seen on a plant, the likely causes in order, and what to do about each."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lifecycle.handbook.facts import check_sourced


@dataclass(frozen=True, slots=True)
class Cause:
    """One likely cause. ``discard``: do not keep the plant. ``step``: what the plan does, or ""."""

    key: str
    label: str
    why: str
    remedy: str
    source: str
    mark: str
    discard: bool = False
    step: str = ""


@dataclass(frozen=True, slots=True)
class Symptom:
    """What is seen; ``groups`` are the groups of crops it concerns; likeliest cause first."""

    key: str
    label: str
    groups: tuple[str, ...]
    causes: tuple[Cause, ...]
    look: str = ""

    @property
    def discard(self) -> bool:
        """Whether one of the causes means that the plant is not kept."""
        return any(cause.discard for cause in self.causes)


def made_symptoms(rows: Mapping[str, Any], sources: Mapping[str, str]) -> dict[str, Symptom]:
    """Return the symptoms. ValueError for a cause whose source or mark is not known."""
    made = {}
    for key, row in rows.items():
        causes = tuple(Cause(**cause) for cause in row["cause"])
        for cause in causes:
            check_sourced(f"{key}.{cause.key}", cause.source, cause.mark, sources)
        made[key] = Symptom(key, row["label"], tuple(row["groups"]), causes, row.get("look", ""))
    return made
