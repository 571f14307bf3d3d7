"""Sentences that tell a reader what a climate rests on and what was left out of it."""

from collections.abc import Mapping

from lifecycle.agronomy.climate_summary import RecordSummary
from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.freeze import ENOUGH_FOR_MEDIAN, ENOUGH_FOR_TAILS, FreezeDates
from lifecycle.agronomy.hardiness import (
    FIRM_YEARS,
    PROVISIONAL_YEARS,
    WHOLE_YEAR,
    ZoneEstimate,
)

_RUNS_SHOWN = 3


def counted(number: int, noun: str) -> str:
    """`1 day`, `2 days`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def climate_notes(
    record: DailyRecord,
    summary: RecordSummary,
    zone: ZoneEstimate,
    freeze: Mapping[int, FreezeDates],
    hemisphere_sentence: str,
) -> tuple[str, ...]:
    """All notes on one climate, in the order in which the work was done."""
    notes = [record.units_inferred] if record.units_inferred else []
    notes += _dropped(summary) + _flat(summary) + _native(record)
    notes.append(hemisphere_sentence)
    notes += _zone(zone) + _freeze(freeze)
    return tuple(notes)


def _dropped(summary: RecordSummary) -> list[str]:
    notes = []
    if summary.rejected:
        parts = ", ".join(f"{count} {reason}" for reason, count in sorted(summary.rejected.items()))
        notes.append(f"Dropped {counted(summary.rejected_values, 'value')}: {parts}.")
    if summary.duplicates:
        notes.append(f"{counted(summary.duplicates, 'repeated value')} counted once.")
    if summary.missing:
        verb = "has" if summary.missing == 1 else "have"
        notes.append(
            f"{counted(summary.missing, 'day')} between {summary.first} and {summary.last} "
            f"{verb} no usable minimum."
        )
    return notes


def _flat(summary: RecordSummary) -> list[str]:
    if not summary.flat_runs:
        return []
    longest = sorted(summary.flat_runs, key=lambda run: (-run.days, run.start))[:_RUNS_SHOWN]
    parts = "; ".join(f"{run.start} to {run.end}, {run.days} days" for run in longest)
    number = len(summary.flat_runs)
    which = "longest first: " if number <= _RUNS_SHOWN else f"the {_RUNS_SHOWN} longest: "
    return [
        f"{counted(number, 'run')} of 4 or more days with the same minimum and maximum "
        f"({'' if number == 1 else which}{parts}); kept, but possibly a filled gap."
    ]


def _native(record: DailyRecord) -> list[str]:
    if record.native_unit == "F" and record.precision == 1.0:
        return ["Observed in whole degrees F; values were compared as whole degrees F."]
    return []


def _zone(zone: ZoneEstimate) -> list[str]:
    notes = []
    if zone.years == 0:
        wanted = (
            f"calendar year with {WHOLE_YEAR} days"
            if zone.window == "calendar"
            else "winter with its three coldest months nearly complete"
        )
        other = "" if zone.window == "calendar" else "; the calendar window may still give one"
        notes.append(f"No zone: the record holds no {wanted}{other}.")
    elif zone.years < PROVISIONAL_YEARS:
        notes.append(
            f"The zone is only indicative: it rests on {counted(zone.years, 'year')}, "
            f"fewer than {PROVISIONAL_YEARS}."
        )
    elif zone.years < FIRM_YEARS:
        notes.append(
            f"The zone is provisional: it rests on {zone.years} years, fewer than {FIRM_YEARS}."
        )
    if zone.near_edge:
        notes.append("The mean coldest night lies within 1 F of the next half-zone.")
    return notes


def _freeze(freeze: Mapping[int, FreezeDates]) -> list[str]:
    notes = []
    years = min(dates.years for dates in freeze.values())
    if years == 0:
        notes.append(
            f"No freeze dates for some limits: they need a year with {WHOLE_YEAR} days and no gap "
            "where the freeze may lie."
        )
    elif years < ENOUGH_FOR_MEDIAN:
        notes.append(
            f"Freeze dates rest on {counted(years, 'year')}: not enough data for a median "
            f"({ENOUGH_FOR_MEDIAN} years) or a 10 % risk ({ENOUGH_FOR_TAILS} years)."
        )
    elif years < ENOUGH_FOR_TAILS:
        notes.append(
            f"Freeze dates rest on {years} years: not enough data for 10 % and 90 % risks "
            f"({ENOUGH_FOR_TAILS} years)."
        )
    gaps = {limit: each.unknown_years for limit, each in freeze.items() if each.unknown_years}
    if gaps:
        parts = ", ".join(f"{count} at {limit} F" for limit, count in gaps.items())
        notes.append(f"Years left out because a freeze may lie in a gap of the record: {parts}.")
    return notes
