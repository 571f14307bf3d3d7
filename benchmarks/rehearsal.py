"""Time the rehearsal of the 37-year Champion record against computing its climate once.

The climate summary is what the site computes when a record comes in; the rehearsal makes the
climate of 36 of the 37 years anew for each of them, and lives through all. Both start from arrays
in memory. The answer must be the published one (docs/rehearsal.md) before anything is printed.
Exit code 1 when the rehearsal takes more than twenty times the summary.

    .venv/bin/python benchmarks/rehearsal.py
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.care.rehearsal import Rehearsal, Winter, rehearse
from lifecycle.care.rehearsal_summary import summary_of
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.care.seasons import season
from lifecycle.handbook import CROPS
from tests.external.installed_records import aquacrop_csv

LATITUDE = 40.4
REPEATS = 15
GOAL = 20.0


def rehearsal(record: DailyRecord) -> Rehearsal:
    """Every year from nothing: no season is kept from the run before."""
    season.cache_clear()
    return rehearse(record, known_sites(record, "north"), CROPS["annuum"], Winter.LIFTED)


def median_seconds(work: Callable[[], object]) -> float:
    """Median time of some runs after one to warm up."""
    work()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def main() -> int:
    """Compare, print, and say by the exit code whether the goal is met."""
    record = read_daily_record(aquacrop_csv("champion"), units="C", latitude=LATITUDE)
    found = summary_of(rehearsal(record))
    if (found.years, found.frozen_nights, found.chilled_nights) != (37, 1, 261):
        print(f"not the published answer: {found}")
        return 1
    whole = median_seconds(lambda: rehearsal(record))
    once = median_seconds(lambda: summarise(record, latitude=LATITUDE))
    ratio = whole / once
    print(f"Rehearsal of Champion, {record.dates.size:,} days, {found.years} years")
    print(f"  climate, once  {once * 1000:8.2f} ms")
    print(f"  rehearsal      {whole * 1000:8.2f} ms   {ratio:.1f} times it (goal {GOAL:g})")
    return 0 if ratio <= GOAL else 1


if __name__ == "__main__":
    sys.exit(main())
