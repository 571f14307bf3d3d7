"""Time our climate of the 37-year Champion record against xclim's on the same days, in one run.

Both sides compute the hardiness zone, last and first freeze at 32 F of every year and the
stretch of warm nights at 55 F, starting from arrays in memory. The answers must agree before
anything is printed. Exit code 1 when ours takes more than a tenth of xclim's time.

    .venv-reference/bin/python benchmarks/climate_against_xclim.py
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "tests" / "external"), str(HERE.parent)]

import against_xclim  # noqa: E402
import xclim_answers  # noqa: E402
from xclim import indices  # noqa: E402

from lifecycle.agronomy.daily_record import DailyRecord  # noqa: E402
from lifecycle.agronomy.freeze import freeze_grid, freeze_seasons  # noqa: E402
from lifecycle.agronomy.hardiness import half_zone_number, zone_estimate  # noqa: E402
from lifecycle.agronomy.site_climate import summarise  # noqa: E402
from lifecycle.agronomy.warm_nights import smoothed_minima, warm_stretch  # noqa: E402

LIMIT_C = (55 - 32) / 1.8
REPEATS = 15
GOAL = 0.1


class Answers(NamedTuple):
    """What both sides compute."""

    zone_number: int
    last: list[float | None]
    first: list[float | None]
    warm: tuple[str | None, str | None]


def ours(record: DailyRecord) -> Answers:
    """The lifecycle code."""
    zone = zone_estimate(record, "north", "calendar")
    assert zone.mean_extreme_min_f is not None
    seasons = freeze_seasons(freeze_grid(record, "north"), 32, "north", record.slack_f())
    return Answers(
        half_zone_number(zone.mean_extreme_min_f),
        seasons.last.tolist(),
        seasons.first.tolist(),
        warm_stretch(smoothed_minima(record), LIMIT_C),
    )


def theirs(record: DailyRecord) -> Answers:
    """xclim, its arrays made from the same days."""
    years = 37
    zones = indices.hardiness_zones(xclim_answers.minima(record, "degF"), window=years, freq="YS")
    last, first = xclim_answers.freeze_days(record, 32)
    curve = xclim_answers.smoothed_climatology(record)
    return Answers(
        int(zones.values[-1]),
        against_xclim.on_365_days(last, 1982),
        against_xclim.on_365_days(first, 1982),
        warm_stretch(curve, LIMIT_C),
    )


def median_seconds(work: Callable[[DailyRecord], object], record: DailyRecord) -> float:
    """Median time of some runs after one to warm up."""
    work(record)
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work(record)
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def main() -> int:
    """Compare, print, and say by the exit code whether the goal is met."""
    record = xclim_answers.record("champion")
    own, other = ours(record), theirs(record)
    if own != other:
        print(f"the answers differ:\n  ours  {own}\n  xclim {other}")
        return 1
    own_time, other_time = median_seconds(ours, record), median_seconds(theirs, record)
    whole_time = median_seconds(lambda each: summarise(each, window="calendar"), record)
    ratio = own_time / other_time
    print(f"Champion, {record.dates.size} days, zone number {own.zone_number}, same answers")
    print(f"  xclim {xclim_answers.version():<8} {other_time * 1000:8.2f} ms")
    print(f"  ours           {own_time * 1000:8.2f} ms   {ratio:.3f} of it (goal {GOAL})")
    print(f"  whole summary  {whole_time * 1000:8.2f} ms   (4 limits, deciles, notes)")
    return 0 if ratio <= GOAL else 1


if __name__ == "__main__":
    sys.exit(main())
