"""One year's report as its pages need it: what stands, what is known since, the year before."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.http import Http404

from lifecycle.models import ClosedYear, Membership
from lifecycle.records.year.closing import Difference, closed_report, differences, values_of
from lifecycle.records.year.report import Report, report_now
from lifecycle.records.year.report_figure import HOURS, Figure
from lifecycle.records.year.report_plants import PlantRecord
from lifecycle.records.year.report_years import Years, known_years, years_of
from lifecycle.web.door import rows

_PRIVATE = "hours-"
"""Figures of which no change is shown: it could be one person's."""


@dataclass(frozen=True, slots=True)
class ShownYear:
    """A year's report; ``values`` are those that stand.

    ``known_now`` is the report as of today where the year is closed, ``wrong`` where a closed
    year did not come out as stored. ``before`` has the figures of the year before, if any.
    """

    report: Report
    values: Mapping[str, int]
    closed: ClosedYear | None
    known_now: Report | None
    wrong: list[Difference]
    before: Mapping[str, int] | None
    over: bool

    @property
    def known_since(self) -> list[tuple[Figure, int, int]]:
        """The figures that would be others today: what stands, and what is known now."""
        if self.known_now is None:
            return []
        now = self.known_now.values
        both = {**self.known_now.figures, **self.report.figures}
        return [
            (figure, self.values.get(key, 0), now.get(key, 0))
            for key, figure in both.items()
            if not key.startswith(_PRIVATE)
            and figure.unit != HOURS
            and self.values.get(key, 0) != now.get(key, 0)
        ]


@dataclass(frozen=True, slots=True)
class Calendar:
    """The years a garden's record knows, and today by the clock they go by."""

    years: Years
    today: date
    known: range

    @property
    def usual(self) -> int:
        """The year to show first: the last complete one, if the record reaches back so far."""
        last = self.years.year_of(self.today) - 1
        return last if last in self.known else self.known[-1]


def calendar_of(member: Membership, now: datetime) -> Calendar:
    """Return the years of the member's garden."""
    years = years_of(member.garden)
    today = years.local_day(now)
    return Calendar(years, today, known_years(member.garden, years, today))


def shown_year(
    member: Membership, calendar: Calendar, year: int, now: datetime, *, compared: bool = True
) -> ShownYear:
    """Work out the report of a year, compared with the year before or by itself.

    Raises Http404 for a year the record knows nothing of.
    """
    if year not in calendar.known:
        raise Http404("The record knows nothing of that year.")
    garden, years = member.garden, calendar.years
    closed_years = {
        closed.year: closed
        for closed in rows(ClosedYear, member)
        .filter(year__in=(year - 1, year))
        .select_related("garden", "by")
    }
    record = PlantRecord(garden.pk)
    closed = closed_years.get(year)
    now_known = report_now(garden, year, years, record, now=now)
    report = now_known if closed is None else closed_report(closed, record)
    before: Mapping[str, int] | None = None
    if compared and year - 1 in closed_years:
        before = values_of(closed_years[year - 1])
    elif compared and year - 1 in calendar.known:
        before = report_now(garden, year - 1, years, record, now=now).values
    return ShownYear(
        report=report,
        values=report.values if closed is None else values_of(closed),
        closed=closed,
        known_now=None if closed is None else now_known,
        wrong=[] if closed is None else differences(closed, report),
        before=before,
        over=report.span.last < calendar.today,
    )
