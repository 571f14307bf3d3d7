"""What the nights of three station records did after the advice to plant out and before lifting.

Records: Champion (Nebraska), Brussels and Tunis, the daily climates of the FAO crop model's
training sets as the package `aquacrop` 3.1.0 ships them. The threshold is 32 F (0 C), at or below
which NOAA/NCEI counts a freeze. Given the days the rehearsal advised, the counts are made again
here in plain Python from the file's own lines, and docs/rehearsal.md is held to them.
"""

from collections.abc import Callable
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest

from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.care.rehearsal import (
    Advice,
    Rehearsal,
    RehearsedYear,
    Winter,
    rehearse,
    under_setting,
)
from lifecycle.care.rehearsal_summary import summary_of
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.handbook import CROPS
from tests.external.installed_records import aquacrop_csv, package_file

DOCS = Path(__file__).resolve().parents[2] / "docs" / "rehearsal.md"
RECORDS = {"champion": 40.4, "brussels": 50.8, "tunis": 36.8}

USUAL = {"champion": "lifted", "brussels": "lifted", "tunis": "ground"}

# record, night, advice, winter: years, and over them nights at or below 32 F between planting out
# and midsummer, later ones, years with any, nights below 50 F, the middle of the days waited.
TOTALS = {
    ("champion", "55", "nights", "lifted"): (37, 0, 1, 1, 261, 10),
    ("champion", "50", "nights", "lifted"): (37, 0, 1, 1, 313, 0),
    ("champion", "55", "dates", "lifted"): (37, 0, 1, 1, 303, 12),
    ("champion", "50", "dates", "lifted"): (37, 2, 1, 3, 493, 0),
    ("brussels", "55", "nights", "lifted"): (30, 0, 0, 0, 463, 30),
    ("brussels", "50", "nights", "lifted"): (30, 0, 0, 0, 546, 0),
    ("brussels", "55", "dates", "lifted"): (30, 0, 0, 0, 461, 32),
    ("brussels", "50", "dates", "lifted"): (30, 0, 0, 0, 793, 0),
    ("tunis", "55", "nights", "lifted"): (23, 0, 0, 0, 117, 32),
    ("tunis", "50", "nights", "lifted"): (23, 0, 0, 0, 189, 3),
    ("tunis", "55", "dates", "lifted"): (23, 0, 0, 0, 151, 32),
    ("tunis", "50", "dates", "lifted"): (23, 0, 0, 0, 411, 2),
    ("tunis", "55", "nights", "ground"): (23, 0, 10, 5, 2519, 32),
    ("tunis", "50", "nights", "ground"): (23, 0, 10, 5, 2349, 3),
    ("tunis", "55", "dates", "ground"): (23, 0, 10, 5, 2553, 32),
    ("tunis", "50", "dates", "ground"): (23, 0, 10, 5, 2571, 2),
}


@cache
def lows(name: str) -> dict[date, float]:
    """The lows in C of the file, by day: Day Month Year Tmin."""
    found = {}
    for line in package_file("aquacrop", "data", f"{name}_climate.txt").read_text().splitlines():
        parts = line.split()
        if parts and parts[0].isdigit():
            found[date(int(parts[2]), int(parts[1]), int(parts[0]))] = float(parts[3])
    return found


@cache
def rehearsed(name: str, night: str, advice: str, winter: str) -> Rehearsal:
    record = read_daily_record(aquacrop_csv(name), units="C", latitude=RECORDS[name])
    sites = under_setting(known_sites(record, "north"), night)
    return rehearse(record, sites, CROPS["annuum"], Winter(winter), Advice(advice))


def met(name: str, year: RehearsedYear) -> tuple[int, int, int]:
    """Walk each day out: freezes before August, freezes after, and nights below 50 F."""
    low, day = lows(name), year.plant_out
    spring = later = chilled = 0
    while day is not None and day <= year.until:
        if low[day] <= 0:
            spring += day < date(year.year, 8, 1)
            later += day >= date(year.year, 8, 1)
        chilled += low[day] < 9.95
        day += timedelta(1)
    return spring, later, chilled


@pytest.mark.parametrize("case", sorted(TOTALS))
def test_totals(case: tuple[str, str, str, str]) -> None:
    rehearsal = rehearsed(*case)
    counts = [met(case[0], year) for year in rehearsal.years]
    again = (
        len(counts),
        sum(spring for spring, _, _ in counts),
        sum(later for _, later, _ in counts),
        sum(spring + later > 0 for spring, later, _ in counts),
        sum(chilled for _, _, chilled in counts),
    )
    assert again == TOTALS[case][:5]
    summary = summary_of(rehearsal)
    assert (
        summary.years,
        summary.frozen_in_spring,
        summary.frozen_nights - summary.frozen_in_spring,
        summary.frozen_years,
        summary.chilled_nights,
        summary.days_waited,
    ) == TOTALS[case]
    assert summary.not_planted == 0


def test_at_the_default_settings_one_night_in_67_years_meets_a_lifted_plant() -> None:
    days = [
        day
        for name in ("champion", "brussels")
        for year in rehearsed(name, "55", "nights", "lifted").years
        for day in year.frozen
    ]
    assert days == [date(2010, 9, 7)]


def totals_table() -> list[str]:
    """The table of docs/rehearsal.md that shows how the numbers move with the settings."""
    lines = []
    for case, (years, spring, later, hit, chilled, waited) in TOTALS.items():
        name, night, advice, winter = case
        by = {"nights": "dates and seven nights", "dates": "dates alone"}[advice]
        found = summary_of(rehearsed(*case)).plant_out
        assert found is not None
        days = (found.first, found.middle, found.last)
        out = ", ".join(f"{day} {MONTHS[month]}" for month, day in days)
        lines.append(
            f"| {name.capitalize()}, {winter} | {night} °F | {by} | {out} | {spring} | {later} | "
            f"{hit} of {years} | {chilled / years:.1f} | {waited} |"
        )
    return lines


MONTHS = {4: "Apr", 5: "May", 6: "Jun", 7: "Jul", 9: "Sep"}


def years_table() -> list[str]:
    """The table of docs/rehearsal.md that shows each year at the default settings."""
    found = {
        name: {year.year: year for year in rehearsed(name, "55", "nights", winter).years}
        for name, winter in USUAL.items()
    }
    lines = []
    for number in range(1976, 2019):
        cells = []
        for name, years in found.items():
            year = years.get(number)
            if year is None or year.plant_out is None:
                cells += ["", ""]
                continue
            spring, later, _ = met(name, year)
            ends = "stays" if year.lift is None else f"{year.lift.day} {MONTHS[year.lift.month]}"
            out = year.plant_out
            cells += [f"{out.day} {MONTHS[out.month]} – {ends}", f"{spring + later}"]
        lines.append(f"| {number} | " + " | ".join(cells) + " |")
    return lines


@pytest.mark.parametrize("table", [totals_table, years_table])
def test_the_page_shows_what_was_counted(table: Callable[[], list[str]]) -> None:
    assert "\n".join(table()) in DOCS.read_text("utf-8")
