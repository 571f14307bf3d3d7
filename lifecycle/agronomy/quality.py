"""Signs of a thermometer that stuck or a gap that was filled."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from lifecycle.agronomy.daily_record import DailyRecord

SHORTEST_FLAT_RUN = 4


@dataclass(frozen=True, slots=True)
class FlatRun:
    """Consecutive days with the same minimum and the same maximum."""

    start: date
    end: date
    days: int


def flat_runs(record: DailyRecord, shortest: int = SHORTEST_FLAT_RUN) -> tuple[FlatRun, ...]:
    """Runs of at least `shortest` calendar days with identical (Tmin, Tmax), oldest first.

    They are reported, not dropped: a whole-degree record can repeat itself honestly, and only a
    person can tell that from a gap that was filled.
    """
    dates, tmin, tmax = record.dates, record.tmin_c, record.tmax_c
    if dates.size == 0:
        return ()
    same = (
        (np.diff(dates) == np.timedelta64(1, "D"))
        & (np.abs(np.diff(tmin)) < 1e-9)
        & (np.abs(np.diff(tmax)) < 1e-9)
    )
    edges = np.diff(np.concatenate(([0], same.astype(np.int8), [0])))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return tuple(
        FlatRun(dates[a].item(), dates[b].item(), int(b - a + 1))
        for a, b in zip(starts, ends, strict=True)
        if b - a + 1 >= shortest
    )
