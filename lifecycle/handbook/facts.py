"""One value of the trade, with its unit, its source and how sure it is."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from lifecycle.handbook.units import UNITS

MARKS: dict[str, str] = {
    "found": "read in the source",
    "found-2nd": "read in a copy",
    "found-low": "weak source",
    "memory": "from memory",
    "derived": "worked out from",
    "common practice": "common practice, no source",
    "own": "set by this garden",
}
"""How sure a value is, and the words for it."""

NO_SOURCE = "practice"
"""The source key of what has none."""

OWN_SOURCE = "garden"
"""The source key of what a garden set itself."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One value of the trade; ``to`` is the upper end of a range.

    Values stand in the unit their source printed, ``si`` and ``si_to`` in SI.
    """

    key: str
    value: float
    unit: str
    source: str
    mark: str
    note: str = ""
    to: float | None = None

    @property
    def si(self) -> float:
        """The value in SI, the low end of a range."""
        return UNITS[self.unit].in_si(self.value)

    @property
    def si_to(self) -> float | None:
        """The upper end in SI, or None where there is one value."""
        return None if self.to is None else UNITS[self.unit].in_si(self.to)

    @property
    def si_high(self) -> float:
        """The upper end in SI, or the one value."""
        return self.si if self.si_to is None else self.si_to


def made_fact(key: str, row: Mapping[str, Any], sources: Mapping[str, str]) -> Fact:
    """Return the fact of a TOML row. ValueError when a part is missing, unknown or out of order."""
    known = {field.name for field in fields(Fact)} - {"key"}
    wrong = sorted(set(row) - known) or sorted({"value", "unit", "source", "mark"} - set(row))
    if wrong:
        raise ValueError(f"Handbook, {key}: check the part “{wrong[0]}”.")
    made = Fact(key=key, **row)
    if made.unit not in UNITS:
        raise ValueError(f"Handbook, {key}: there is no unit “{made.unit}”.")
    if made.to is not None and made.to <= made.value:
        raise ValueError(f"Handbook, {key}: the range does not rise.")
    check_sourced(key, made.source, made.mark, sources)
    return made


def check_sourced(key: str, source: str, mark: str, sources: Mapping[str, str]) -> None:
    """ValueError for an unknown source or mark, or for one that does not go with the other."""
    if source not in sources:
        raise ValueError(f"Handbook, {key}: the source “{source}” is not listed.")
    if mark not in MARKS:
        raise ValueError(f"Handbook, {key}: there is no mark “{mark}”.")
    if mark.startswith("found") and source == NO_SOURCE:
        raise ValueError(f"Handbook, {key}: what was read needs its source.")
    if mark == "common practice" and source != NO_SOURCE:
        raise ValueError(f"Handbook, {key}: common practice has no source.")
