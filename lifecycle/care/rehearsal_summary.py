"""What the rehearsed years come to."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from statistics import median

from lifecycle.care.rehearsal import Rehearsal, RehearsedYear
from lifecycle.care.site_dates import MonthDay


@dataclass(frozen=True, slots=True)
class Spread:
    """The earliest, the middle and the latest of some days of the year."""

    first: MonthDay
    middle: MonthDay
    last: MonthDay


@dataclass(frozen=True, slots=True)
class RehearsalSummary:
    """Counts over the years of a rehearsal.

    Nights are summed over the years; ``chilled_years`` and ``frozen_years`` count years with
    at least one. Of the frozen nights ``frozen_in_spring`` came between planting out and
    midsummer. ``days_waited`` is the middle of the years that have such a number.
    """

    years: int
    left_out: int
    not_planted: int
    plant_out: Spread | None
    lift: Spread | None
    chilled_nights: int
    chilled_years: int
    frozen_nights: int
    frozen_in_spring: int
    frozen_years: int
    protected_nights: int
    days_waited: float | None


def summary_of(rehearsal: Rehearsal) -> RehearsalSummary:
    """Count up a rehearsal."""
    years = rehearsal.years
    waited = [year.days_waited for year in years if year.days_waited is not None]
    return RehearsalSummary(
        years=len(years),
        left_out=len(rehearsal.left_out),
        not_planted=sum(year.plant_out is None for year in years),
        plant_out=_spread((year, year.plant_out) for year in years),
        lift=_spread((year, year.lift) for year in years),
        chilled_nights=sum(len(year.chilled) for year in years),
        chilled_years=sum(bool(year.chilled) for year in years),
        frozen_nights=sum(len(year.frozen) for year in years),
        frozen_in_spring=sum(len(year.frozen_in_spring) for year in years),
        frozen_years=sum(bool(year.frozen) for year in years),
        protected_nights=sum(len(year.protected) for year in years),
        days_waited=float(median(waited)) if waited else None,
    )


def _spread(days: Iterable[tuple[RehearsedYear, date | None]]) -> Spread | None:
    """Order days by where they lie in their own year, which may end in the next calendar year."""
    places = sorted((day.year - year.year, day.month, day.day) for year, day in days if day)
    if not places:
        return None
    chosen = (places[0], places[(len(places) - 1) // 2], places[-1])
    return Spread(*((month, day) for _, month, day in chosen))
