"""A figure of the report: its value, its definition, and the rows behind it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from lifecycle.records.year.report_kept import Kept
from lifecycle.records.year.report_known import Known
from lifecycle.records.year.report_plants import Lifetime

COUNT, GRAMS, HOURS = "", "g", "h"

MEMBERS, PEOPLE, BEDS, PLANTS = "members", "people", "beds", "plants"
ENTRIES, TASKS, NIGHTS, GIVEN = "entries", "tasks", "nights", "given"


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure. ``meaning`` defines it in one sentence; "": the section's own sentence does.

    ``behind`` names the kind of its rows, ``rows`` gives their numbers; None: they are private.
    ``share_of`` are the figures whose sum it is a share of.
    """

    key: str
    label: str
    meaning: str
    value: int
    unit: str = COUNT
    behind: str = ""
    rows: Callable[[], Sequence[int]] | None = None
    share_of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """Figures that stand in one table; ``meaning`` holds for all of them."""

    key: str
    title: str
    figures: tuple[Figure, ...]
    meaning: str = ""


@dataclass(frozen=True, slots=True)
class YearFacts:
    """Everything the figures of a year are made of."""

    known: Known
    kept: Kept
    lives: Sequence[Lifetime]

    @property
    def first(self) -> date:
        """The first day of the year."""
        return self.known.span.first

    @property
    def last(self) -> date:
        """The last day of the year."""
        return self.known.span.last

    def within(self, day: date | None) -> bool:
        """Return whether a day lies in the year."""
        return day is not None and self.first <= day <= self.last


def listed(
    key: str,
    label: str,
    meaning: str,
    behind: str,
    rows: Sequence[int],
    share_of: tuple[str, ...] = (),
) -> Figure:
    """Return a figure that is the number of its rows."""
    return Figure(
        key, label, meaning, len(rows), behind=behind, rows=lambda: rows, share_of=share_of
    )
