"""The report of a growing year: every figure with its definition and the rows behind it."""

from dataclasses import dataclass
from datetime import datetime

from lifecycle.models import Garden
from lifecycle.records.year import (
    report_ground,
    report_lives,
    report_work,
)
from lifecycle.records.year.report_figure import Figure, Section, YearFacts
from lifecycle.records.year.report_kept import Kept, kept_now
from lifecycle.records.year.report_known import Known
from lifecycle.records.year.report_plants import PlantRecord
from lifecycle.records.year.report_years import Span, Years

NO_MONEY = Section("money", "Money", (), "Money is not recorded here, so there is no figure.")


@dataclass(frozen=True, slots=True)
class Report:
    """One year's figures as they were known at ``as_of``; ``kept`` is what they rest on."""

    span: Span
    as_of: datetime
    kept: Kept
    sections: tuple[Section, ...]

    @property
    def figures(self) -> dict[str, Figure]:
        """Every figure by its key."""
        return {figure.key: figure for section in self.sections for figure in section.figures}

    @property
    def values(self) -> dict[str, int]:
        """The value of every figure by its key."""
        return {key: figure.value for key, figure in self.figures.items()}


def report_of(
    garden: Garden, span: Span, kept: Kept, record: PlantRecord, *, as_of: datetime
) -> Report:
    """Work out the report of a year as it was known at ``as_of``."""
    facts = YearFacts(known=Known(garden.pk, span, as_of), kept=kept, lives=record.lifetimes(as_of))
    ends = facts.known.task_ends()
    sections = (
        report_ground.members(facts, ends),
        report_ground.beds(facts),
        report_lives.plants(facts),
        report_lives.winters(facts),
        report_work.work(facts, ends),
        report_ground.frost(facts),
        report_work.harvest(facts),
        report_work.given(facts),
        report_work.hours(facts),
        NO_MONEY,
        report_work.entries(facts),
    )
    return Report(span, as_of, kept, sections)


def report_now(
    garden: Garden, year: int, years: Years, record: PlantRecord, *, now: datetime
) -> Report:
    """Work out the report of a year as everything is known now."""
    span = years.span(year)
    kept = kept_now(garden, span.first, span.last, years.local_day(now))
    return report_of(garden, span, kept, record, as_of=now)
