"""The lows of a station record on an unbroken calendar, and the seven nights from each day."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord

WEEK = 7


@dataclass(frozen=True, slots=True)
class RecordNights:
    """Lows in F, one a day from ``first`` on, NaN where the record has none.

    ``slack_f`` is how far above a limit a low may lie and still be at it. ``coldest_f`` is the
    coldest known night of the seven from each day on (NaN: none known), ``whole_week`` whether
    all seven are known.
    """

    first: date
    lows_f: NDArray[np.float64]
    slack_f: float
    coldest_f: NDArray[np.float64]
    whole_week: NDArray[np.bool_]

    @classmethod
    def of(cls, record: DailyRecord) -> "RecordNights":
        """Lay out the minima of a record, whole degrees F made whole again."""
        place = (record.dates - record.dates[0]).astype(np.int64)
        lows = np.full(int(place[-1]) + WEEK, np.nan)
        lows[place] = record.minima_f()
        weeks = np.lib.stride_tricks.sliding_window_view(lows, WEEK)
        return cls(
            first=record.dates[0].item(),
            lows_f=lows[: len(weeks)],
            slack_f=record.slack_f(),
            coldest_f=np.fmin.reduce(weeks, axis=1),
            whole_week=~np.isnan(weeks).any(axis=1),
        )

    def place(self, day: date) -> int:
        """Return where a day lies; before the record's first day it is negative."""
        return (day - self.first).days

    def span(self, first: date, last: date) -> slice:
        """Return the places of the days from ``first`` to ``last`` that the record has."""
        begin = min(max(self.place(first), 0), self.lows_f.size)
        return slice(begin, min(max(self.place(last) + 1, begin), self.lows_f.size))

    def days(self, flags: NDArray[np.bool_], span: slice) -> tuple[date, ...]:
        """Return the days of a span whose flag is set; ``flags`` run along with the record."""
        places = np.flatnonzero(flags[span]) + span.start
        return tuple(self.first + timedelta(int(place)) for place in places)

    def first_day(self, flags: NDArray[np.bool_], span: slice) -> date | None:
        """Return the first such day, or None."""
        found = np.flatnonzero(flags[span])
        return self.first + timedelta(int(found[0]) + span.start) if found.size else None

    def missing(self, first: date, last: date) -> int:
        """Return how many nights of these days the record lacks, those beyond its ends too."""
        found = np.count_nonzero(~np.isnan(self.lows_f[self.span(first, last)]))
        return (last - first).days + 1 - int(found)
