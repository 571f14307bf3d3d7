"""What a garden allows in a bed: perennials in the ground, a day to be clear by, plots kept."""

from dataclasses import dataclass
from datetime import date

from lifecycle.care.site_dates import MonthDay
from lifecycle.care.wording import short_date


@dataclass(frozen=True, slots=True)
class BedRules:
    """The rules of one bed; by default it has none.

    ``clear_by`` is the day of each year by which the bed must be clear, or None.
    ``plots_kept``: who holds a plot this year holds it the next.
    """

    clear_by: MonthDay | None = None
    perennials_in_ground: bool = True
    plots_kept: bool = True

    @property
    def end_a_season(self) -> bool:
        """Whether no plant may spend the winter in the ground of the bed."""
        return self.clear_by is not None or not self.perennials_in_ground


NO_RULES = BedRules()

ANCHOR = "the bed’s rules"
"""What a step hangs on that stays however late it is, for the bed is not clear yet.

Until it is done, or until the planting of a new season is over: from then on the next day counts
(``cleared_beds.last_of_tenancy``).
"""

SOURCE = "garden"
"""Whose word a day to be clear by is: the garden's own."""


def in_words(rules: BedRules) -> list[str]:
    """Return the rules as sentences, none for a bed without any."""
    said = []
    if rules.clear_by is not None:
        said.append(f"Must be clear by {day_in_words(rules.clear_by)} each year.")
    if not rules.perennials_in_ground:
        said.append("No perennials in the ground over winter.")
    if not rules.plots_kept:
        said.append("Plots are given out anew each year.")
    return said


def in_brackets(rules: BedRules) -> str:
    """Return what somebody who plants in a bed must know, in brackets after its name, or ""."""
    said = []
    if rules.clear_by is not None:
        said.append(f"clear by {day_in_words(rules.clear_by)}")
    if not rules.perennials_in_ground:
        said.append("no perennials over winter")
    return f" ({', '.join(said)})" if said else ""


def day_in_words(day: MonthDay) -> str:
    """Return a day of the year with its month as a word."""
    return short_date(date(2000, *day), date(2000, 1, 1))
