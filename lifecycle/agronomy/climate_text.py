"""A site's climate as plain text for a terminal or a mail."""

import textwrap

from lifecycle.agronomy.climate_notes import counted
from lifecycle.agronomy.climate_summary import ClimateSummary
from lifecycle.agronomy.daily_record import celsius
from lifecycle.agronomy.freeze import ENOUGH_FOR_MEDIAN, ENOUGH_FOR_TAILS, FreezeDates, FreezeSide
from lifecycle.agronomy.hardiness import ZoneEstimate

_WIDTH = 92
_RISKS = (10, 50, 90)
_WINDOWS = {
    ("season", "north"): "July to June",
    ("season", "south"): "January to December",
    ("calendar", "north"): "January to December",
    ("calendar", "south"): "January to December",
}


def climate_text(climate: ClimateSummary) -> str:
    """The report: record, zone, freeze dates, warm nights and notes, as lines of text."""
    blocks = [_record(climate), _zone(climate), _freeze(climate), _warm_nights(climate)]
    notes = "\n".join(
        textwrap.fill(note, _WIDTH, initial_indent="  - ", subsequent_indent="    ")
        for note in climate.notes
    )
    return "\n\n".join([*blocks, f"Notes\n{notes}"])


def _record(climate: ClimateSummary) -> str:
    record = climate.record
    name = f"{record.station}, {record.format}" if record.station else record.format
    step = f"{record.precision:g} {record.native_unit}"
    return "\n".join(
        [
            f"Record: {name}",
            f"  {record.first} to {record.last}: {counted(record.days, 'day')} with a minimum, "
            f"{record.missing} missing",
            f"  {counted(record.rejected_values, 'value')} dropped, "
            f"{counted(record.duplicates, 'repeat')}, "
            f"{counted(len(record.flat_runs), 'flat run')}; written in steps of {step}",
        ]
    )


def _zone(climate: ClimateSummary) -> str:
    zone = climate.zone
    if zone.mean_extreme_min_f is None or zone.mean_extreme_min_c is None:
        return "Hardiness zone: not enough data"
    window = _WINDOWS[(zone.window, climate.hemisphere)]
    lines = [
        f"Hardiness zone: {zone.half_zone} ({zone.status})",
        f"  mean coldest night of the year {zone.mean_extreme_min_f:.2f} F "
        f"({zone.mean_extreme_min_c:.2f} C), {counted(zone.years, 'year')}, {window}",
    ]
    return "\n".join(lines + _uncertainty(zone))


def _uncertainty(zone: ZoneEstimate) -> list[str]:
    span = zone.zone_range()
    if span is None:
        return ["  one year only: no standard error"]
    zones = span[0] if span[0] == span[1] else f"{span[0]} to {span[1]}"
    return [f"  standard error {zone.standard_error_f:.2f} F: zone {zones} within one error"]


def _freeze(climate: ClimateSummary) -> str:
    lines = [
        "Freeze dates (month-day): chance of a freeze on or after the date in spring, on or before",
        "it in autumn",
        "                 |      spring, last freeze    |     autumn, first freeze    "
        "| freeze-free days",
        "  at or   years  | share    10 %   50 %   90 % | share    10 %   50 %   90 % "
        "| short  mid  long",
    ]
    lines += [_freeze_row(dates) for dates in climate.freeze.values()]
    legend = ["  -  no such date: fewer seasons freeze than that chance"]
    if any(_is_thin(dates) for dates in climate.freeze.values()):
        legend.append(
            f"  *  not enough data: {ENOUGH_FOR_MEDIAN} years are needed for 50 %, "
            f"{ENOUGH_FOR_TAILS} for 10 % and 90 %"
        )
    legend.append("  short, mid, long: longer in 9, 5 and 1 of 10 years that freeze in both halves")
    return "\n".join(lines + legend)


def _is_thin(dates: FreezeDates) -> bool:
    return not all(dates.enough(p) for p in _RISKS)


def _freeze_row(dates: FreezeDates) -> str:
    def side(half: FreezeSide) -> str:
        share = "  -  " if half.share is None else f"{half.share:5.0%}"
        return share + "  " + "".join(f"{_marked(half.dates[p], dates, p):>7}" for p in _RISKS)

    days = [dates.season_days[p] for p in _RISKS]
    lengths = "".join(
        f"{_marked(None if d is None else f'{d:.0f}', dates, p):>6}"
        for p, d in zip(_RISKS, days, strict=True)
    )
    limit = f"{dates.threshold_f} F"
    halves = f"|{side(dates.spring)} |{side(dates.autumn)} |"
    return f"  {limit:<7} {dates.years:>5}  {halves}{lengths}".rstrip()


def _marked(text: str | None, dates: FreezeDates, percent: int) -> str:
    if text is None:
        return "- "
    return text + (" " if dates.enough(percent) else "*")


def _warm_nights(climate: ClimateSummary) -> str:
    lines = [
        "Warm nights (month-day): mean minimum at or above the limit; date from which a colder",
        "night still comes in at most one year in ten before midsummer",
        "  limit               start     end       one in ten",
    ]
    for limit, nights in climate.warm_nights.items():
        shown = [each or "-" for each in (nights.start, nights.end, nights.risk10)]
        degrees = f"{limit} F ({celsius(limit):.1f} C)"
        lines.append(f"  {degrees:<20}{shown[0]:<10}{shown[1]:<10}{shown[2]}")
    return "\n".join(lines)
