"""How long holders have to put a plot right before it passes on.

Plot agreements and rule sheets that community gardens publish: ten days to one month of neglect,
after notice, then the plot is given to somebody else.
"""

from datetime import date, timedelta

from lifecycle.handbook import SOURCES, fact
from lifecycle.records.ground.inspections import default_notice

PUBLISHED_DAYS = (10, 31)


def test_the_range_of_published_rules() -> None:
    given = fact("notice.given")
    assert (given.value, given.to) == PUBLISHED_DAYS
    assert (given.source, given.mark) == ("plot_rules", "found-2nd")
    assert SOURCES["plot_rules"].startswith("Plot agreements and rule sheets")


def test_the_usual_notice_lies_within_it_and_owns_to_have_no_source() -> None:
    low, high = (timedelta(days) for days in PUBLISHED_DAYS)
    assert low <= default_notice() <= high
    assert fact("notice.put_right").source == "practice"


def test_a_worked_example() -> None:
    # Found on 1 June: fourteen days later is 15 June, inside 11 June to 2 July.
    by_day = date(2026, 6, 1) + default_notice()
    assert date(2026, 6, 11) <= by_day == date(2026, 6, 15) <= date(2026, 7, 2)
