"""The values of the report in words."""

from collections.abc import Mapping

from lifecycle.models import Person
from lifecycle.records.year.report_figure import GRAMS, HOURS, Figure
from lifecycle.web.year.amounts import weight

FEWEST_FOR_SHARE = 5
"""Under so many a share says nothing, and only the numbers are given."""
NOT_KNOWN = "–"


def value_words(figure: Figure, values: Mapping[str, int], person: Person) -> str:
    """Return a figure's value as the reader reads it, by the ``values`` of one year.

    A kind of entry that a year does not name has none.
    """
    value = values.get(figure.key)
    if value is None:
        return "0" if figure.key.startswith("entries-") else NOT_KNOWN
    if figure.unit == GRAMS:
        return weight(value, person)
    if figure.unit == HOURS:
        return f"{value:,} h"
    if figure.share_of:
        return share_words(value, sum(values.get(key, 0) for key in figure.share_of))
    return f"{value:,}"


def share_words(value: int, of: int) -> str:
    """Return "7 of 9 (78 %)"; without the share where it would be of very few."""
    if of < FEWEST_FOR_SHARE:
        return f"{value} of {of}"
    return f"{value:,} of {of:,} ({value / of:.0%})".replace("%)", " %)")
