"""The rehearsed years as a chart: a row a year, its time out and its cold nights."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.html import format_html
from django.utils.safestring import SafeString

from lifecycle.care.rehearsal import RehearsedYear
from lifecycle.web.charts import LEFT, RIGHT, line, svg, text

ROW = 18
LEAST_WIDTH = 2.5
"""So that a single night is still seen."""
OUT, CHILLED, FROZEN = (8, "p-growing"), (3, "p-cold"), (15, "mark")
"""Height and class of the bars."""
DAY = timedelta(1)


@dataclass(frozen=True, slots=True)
class _Axis:
    """The days of every row: from the month of the earliest planting to the last day counted."""

    later: int
    month: int
    length: int

    @classmethod
    def of(cls, years: Sequence[RehearsedYear]) -> "_Axis":
        outs = [(year.year, year.plant_out) for year in years if year.plant_out is not None]
        later, month = min(((out.year - year, out.month) for year, out in outs), default=(0, 1))
        ends = [(year.until - date(year.year + later, month, 1)).days + 1 for year in years]
        return cls(later, month, max(ends, default=365))

    def x(self, day: date, year: int) -> float:
        """Return the place of a day in the row of a year."""
        gone = (day - date(year + self.later, self.month, 1)).days
        return round(LEFT + gone / self.length * (RIGHT - LEFT), 1)

    def months(self, year: int) -> Iterator[date]:
        """Return the first days of the months of a row."""
        start = day = date(year + self.later, self.month, 1)
        while (day - start).days < self.length:
            yield day
            day = (day + timedelta(31)).replace(day=1)


def rehearsal_chart(years: Sequence[RehearsedYear]) -> SafeString:
    """Draw the years, newest on top.

    A bar is the time out; the low strip under it the nights that chill, the tall blocks across
    it the nights that kill.
    """
    axis, height = _Axis.of(years), ROW * len(years)
    parts = list(_months(axis, height))
    for row, year in enumerate(reversed(years)):
        top = ROW * row
        parts.append(text(0, top + 13, str(year.year)))
        if year.plant_out is not None:
            parts += _bars([(year.plant_out, year.until)], axis, year.year, top + 3, OUT)
            parts += _bars(_runs(year.chilled), axis, year.year, top + 12, CHILLED)
            parts += _bars(_runs(year.frozen), axis, year.year, top + 1, FROZEN)
    return svg(height + 20, "Time out and cold nights, year by year", parts)


def _months(axis: _Axis, height: int) -> Iterator[SafeString]:
    """Draw a grid line at each month; its name where there is room."""
    common = 2001
    days = list(axis.months(common))
    for number, day in enumerate(days):
        x = axis.x(day, common)
        yield line(x, 0, x, height, "grid")
        if len(days) <= 7 or number % 2 == 0:
            yield text(x, height + 15, f"{day:%b}")


def _bars(
    spans: Iterable[tuple[date, date]], axis: _Axis, year: int, top: int, look: tuple[int, str]
) -> Iterator[SafeString]:
    height, css = look
    for first, last in spans:
        left, right = axis.x(first, year), axis.x(last + DAY, year)
        yield format_html(
            '<rect x="{}" y="{}" width="{}" height="{}" class="{}"/>',
            left,
            top,
            max(round(right - left, 1), LEAST_WIDTH),
            height,
            css,
        )


def _runs(days: Iterable[date]) -> list[tuple[date, date]]:
    """Return the first and the last day of each run of days that follow each other."""
    runs: list[tuple[date, date]] = []
    for day in days:
        if runs and day - runs[-1][1] == DAY:
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return runs
