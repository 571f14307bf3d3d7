"""A rehearsal as text for a terminal, and as JSON-able values."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any

from lifecycle.agronomy.climate_notes import counted
from lifecycle.care.rehearsal import Rehearsal, RehearsedYear
from lifecycle.care.rehearsal_summary import RehearsalSummary, Spread, summary_of
from lifecycle.care.site_dates import MonthDay

_HEAD = (
    "  year   plant out   lift        chilled  frozen  protect  would have done  waited",
    "                                  nights  nights   nights                     days",
)
_BY = {
    "nights": "by the dates and each evening's next seven nights",
    "dates": "by the dates alone",
}


def as_report(rehearsal: Rehearsal, settings: Mapping[str, Any]) -> dict[str, Any]:
    """Return settings, years and summary as JSON-able values.

    Nights are counted, but ``frozen_nights`` lists its dates; ``frozen`` says whether there is one.
    """
    return {
        "settings": dict(settings),
        "years": [_year_report(year) for year in rehearsal.years],
        "left_out": list(rehearsal.left_out),
        "summary": _summary_report(summary_of(rehearsal)),
    }


def as_text(rehearsal: Rehearsal, settings: Mapping[str, Any]) -> str:
    """Return the table of years, what they come to, and how to read them."""
    title = (
        f"{str(settings['crop']).capitalize()}, {settings['route']}, nights of "
        f"{settings['night']} F, {_BY[settings['by']]}; the site known by {settings['known_by']}"
    )
    rows = [_row(year) for year in rehearsal.years]
    blocks = ["\n".join([title, "", *_HEAD, *rows]), _summary_text(summary_of(rehearsal))]
    if rehearsal.left_out:
        years = ", ".join(map(str, rehearsal.left_out))
        blocks.append(f"Left out, with more than five nights missing: {years}")
    blocks.append(_LEGEND)
    return "\n\n".join(blocks)


_LEGEND = """\
  chilled    nights below the crop's chilling limit from planting out to lifting, uncovered
  frozen     nights at or below 32 F (0 C): an uncovered plant is killed
  protect    nights at or below 36 F (2.2 C): cover what stands out
  would have done: looking back, the first day whose seven nights allowed planting out and
             after which no night of that spring was at or below 32 F; waited counts from it"""


def _row(year: RehearsedYear) -> str:
    waited = "-" if year.days_waited is None else str(year.days_waited)
    return (
        f"  {year.year}   {_day(year.plant_out, 'never'):<10}  {_day(year.lift, 'stays'):<10}  "
        f"{len(year.chilled):>7}  {len(year.frozen):>6}  {len(year.protected):>7}  "
        f"{_day(year.could_have, '-'):<15}  {waited:>6}"
    )


def _day(day: date | None, otherwise: str) -> str:
    return otherwise if day is None else day.isoformat()


def _summary_text(summary: RehearsalSummary) -> str:
    lines = [counted(summary.years, "year")]
    for words, spread in (("plant out", summary.plant_out), ("lift", summary.lift)):
        if spread is not None:
            days = [_month_day(day) for day in (spread.first, spread.middle, spread.last)]
            lines.append(f"  {words:<10} earliest {days[0]}, middle {days[1]}, latest {days[2]}")
    if summary.not_planted:
        lines.append(f"  not planted out in {summary.not_planted}: the nights never allowed it")
    lines += [
        f"  chilled    {counted(summary.chilled_nights, 'night')} "
        f"in {counted(summary.chilled_years, 'year')}",
        f"  frozen     {counted(summary.frozen_nights, 'night')} "
        f"in {counted(summary.frozen_years, 'year')}, {summary.frozen_in_spring} before midsummer",
        f"  protect    {counted(summary.protected_nights, 'night')}",
    ]
    if summary.days_waited is not None:
        lines.append(f"  waited     {summary.days_waited:g} days in the middle year")
    return "\n".join(lines)


def _year_report(year: RehearsedYear) -> dict[str, Any]:
    return {
        "year": year.year,
        "plant_out": _iso(year.plant_out),
        "lift": _iso(year.lift),
        "until": year.until.isoformat(),
        "chilled": len(year.chilled),
        "frozen": bool(year.frozen),
        "frozen_nights": [day.isoformat() for day in year.frozen],
        "protected_nights": len(year.protected),
        "could_have": _iso(year.could_have),
        "days_waited": year.days_waited,
    }


def _summary_report(summary: RehearsalSummary) -> dict[str, Any]:
    spreads = {"plant_out": summary.plant_out, "lift": summary.lift}
    return {**asdict(summary), **{key: _spread_report(each) for key, each in spreads.items()}}


def _spread_report(spread: Spread | None) -> dict[str, str] | None:
    if spread is None:
        return None
    return {
        "first": _month_day(spread.first),
        "middle": _month_day(spread.middle),
        "last": _month_day(spread.last),
    }


def _month_day(day: MonthDay) -> str:
    return f"{day[0]:02d}-{day[1]:02d}"


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
