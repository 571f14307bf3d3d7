"""A growing year's figures are closed once, and can be worked out anew for ever."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db import transaction

from lifecycle.models import ClosedYear, Garden, Membership
from lifecycle.permissions import require
from lifecycle.records.people import audit
from lifecycle.records.refusal import Refused
from lifecycle.records.year.report import Report, report_now, report_of
from lifecycle.records.year.report_kept import Kept, day_number, day_of
from lifecycle.records.year.report_plants import PlantRecord
from lifecycle.records.year.report_years import Span, known_years, years_of

SETTLED = timedelta(minutes=15)
"""What was written so shortly before closing may not be to its end, and counts as known later."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A figure that is not the same twice; None: it is not there."""

    year: int
    key: str
    stored: int | None
    found: int | None


def close_year(actor: Membership, year: int, *, now: datetime) -> ClosedYear:
    """Close a growing year that is over: its figures stand from now on.

    Closing twice is one closing. Raises Refused for a year that is not over, or of which the
    record knows nothing.
    """
    require(actor, "report.close")
    with transaction.atomic():
        garden = Garden.objects.select_for_update(no_key=True).get(pk=actor.garden_id)
        before = ClosedYear.objects.filter(garden=garden, year=year).first()
        if before is not None:
            return before
        years, as_of = years_of(garden), now - SETTLED
        known = known_years(garden, years, years.local_day(as_of))
        if year < known[0]:
            raise Refused(f"The record knows nothing of growing year {year}.")
        if year >= known[-1]:
            raise Refused(f"Growing year {year} is not over. Close it when its last day is past.")
        report = report_now(garden, year, years, PlantRecord(garden.pk), now=as_of)
        made = ClosedYear.objects.create(
            garden=garden, year=year, as_of=as_of, by=actor.person, figures=_stored(report)
        )
        audit.note(actor, "year_closed", now=now, year=year)
    return made


def closed_report(closed: ClosedYear, record: PlantRecord) -> Report:
    """Work out a closed year's report anew, from what was known when it was closed."""
    return report_of(
        closed.garden,
        span_of(closed),
        Kept.from_json(closed.figures["kept"]),
        record,
        as_of=closed.as_of,
    )


def span_of(closed: ClosedYear) -> Span:
    """Return the days that the year had when it was closed, whatever the garden says since."""
    first, last, start, end = closed.figures["span"]
    return Span(
        closed.year,
        day_of(first),
        day_of(last),
        datetime.fromtimestamp(start, UTC),
        datetime.fromtimestamp(end, UTC),
    )


def values_of(closed: ClosedYear) -> Mapping[str, int]:
    """Return the figures that stand for a closed year, by key."""
    values: Mapping[str, int] = closed.figures["values"]
    return values


def differences(closed: ClosedYear, report: Report) -> list[Difference]:
    """Return where a report says other than what stands; none is the proof.

    A figure that the report learned to count since then proves nothing and is left out.
    """
    found = report.values
    return [
        Difference(closed.year, key, value, found.get(key))
        for key, value in values_of(closed).items()
        if found.get(key) != value
    ]


def all_differences() -> Iterator[tuple[ClosedYear, Difference]]:
    """Yield every figure of a closed year that does not come out as it was stored."""
    closed_years = ClosedYear.objects.select_related("garden").order_by("garden", "year")
    record, of_garden = None, None
    for closed in closed_years:
        if record is None or of_garden != closed.garden_id:
            record, of_garden = PlantRecord(closed.garden_id), closed.garden_id
        for difference in differences(closed, closed_report(closed, record)):
            yield closed, difference


def _stored(report: Report) -> dict[str, object]:
    span = report.span
    return {
        "values": report.values,
        "kept": report.kept.as_json(),
        "span": [
            *(day_number(span.first), day_number(span.last)),
            *(int(span.start.timestamp()), int(span.end.timestamp())),
        ],
    }
