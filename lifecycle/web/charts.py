"""Charts as SVG made on the server: they print, scale and need no script.

Each comes with a title for screen readers; the page sets the same data beside it as a
table. Colours are classes of the style sheet, and a word or a shape always says the same.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from lifecycle.agronomy.climate_summary import ClimateSummary
from lifecycle.agronomy.day_of_year import DAYS_IN_YEAR, day_from_month_day, month_day
from lifecycle.agronomy.warm_nights import LIMITS_F
from lifecycle.care.steps import Window
from lifecycle.care.wording import degrees
from lifecycle.life.fold import Life
from lifecycle.life.growing_year import growing_year_of, growing_year_start
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import PHASE_LABELS, Phase

WIDTH, LEFT, RIGHT = 340, 46, 334
YEARS_SHOWN = 10
_PHASE_CLASS = {
    Phase.SOWN: "p-raising",
    Phase.SEEDLING: "p-raising",
    Phase.HARDENING: "p-raising",
    Phase.ESTABLISHING: "p-growing",
    Phase.GROWING: "p-growing",
    Phase.BEARING: "p-growing",
    Phase.RESTING: "p-resting",
    Phase.WAKING: "p-resting",
}
# Shapes of marks, drawn in a lane under the bars.
_MARKS = {
    Kind.CUT_BACK: "M{x} {y}l-4 -7h8z",
    Kind.PLANTED_OUT: "M{x} {y}m-3 -7h6v6h-6z",
    Kind.WINTER_QUARTERS: "M{x} {y}m-3 -7h6v6h-6z",
    Kind.PICKED: "M{x} {y}m-3 -4a3 3 0 1 0 6 0a3 3 0 1 0 -6 0z",
}
MARK_WORDS = (
    "Under the bars: a square for planted out or brought into winter quarters, a triangle for "
    "cut back, a dot for picked."
)


@dataclass(frozen=True, slots=True)
class Scale:
    """A year laid along the x axis, from its first month."""

    starts_in: int

    def x(self, share: float) -> float:
        """Return the place of a share of the year."""
        return round(LEFT + share * (RIGHT - LEFT), 1)

    def of_month_day(self, text: str) -> float:
        """Return the share of the year at which MM-DD lies."""
        start = day_from_month_day(f"{self.starts_in:02d}-01")
        return ((day_from_month_day(text) - start) % DAYS_IN_YEAR) / DAYS_IN_YEAR

    def months(self) -> list[tuple[float, str]]:
        """Return where each month begins, and its first letters."""
        names = []
        for offset in range(12):
            month = (self.starts_in - 1 + offset) % 12 + 1
            names.append((self.of_month_day(f"{month:02d}-01"), f"{date(2001, month, 1):%b}"))
        return names


def svg(height: float, title: str, parts: Iterable[str]) -> SafeString:
    """Return a drawing of ``parts`` with a title for those who cannot see it."""
    return format_html(
        '<svg viewBox="0 0 {} {}" role="img" aria-label="{}" focusable="false">{}</svg>',
        WIDTH,
        height,
        title,
        mark_safe("".join(parts)),  # nosec B308 B703 # every part comes from format_html
    )


def text(x: float, y: float, words: str, css: str = "", anchor: str = "start") -> SafeString:
    """Return words at a place of a drawing."""
    return format_html(
        '<text x="{}" y="{}" text-anchor="{}" class="{}">{}</text>', x, y, anchor, css, words
    )


def line(x1: float, y1: float, x2: float, y2: float, css: str) -> SafeString:
    """Return a line of a drawing."""
    return format_html('<line x1="{}" y1="{}" x2="{}" y2="{}" class="{}"/>', x1, y1, x2, y2, css)


def _months(scale: Scale, top: float, bottom: float) -> list[SafeString]:
    """Draw the months: a grid line at each, a name at every second."""
    parts = []
    for index, (share, name) in enumerate(scale.months()):
        parts.append(line(scale.x(share), top, scale.x(share), bottom, "grid"))
        if index % 2 == 0:
            parts.append(text(scale.x(share), bottom + 15, name))
    return parts


def year_strip(life: Life, name: str, starts_in: int, today: date) -> SafeString:
    """Draw a life so far: a row a growing year, newest on top, a bar a phase."""
    scale = Scale(starts_in)
    last = life.ended_on or today
    first_year = growing_year_of(life.began_on, starts_in)
    years = list(range(growing_year_of(last, starts_in), first_year - 1, -1))[:YEARS_SHOWN]
    height, parts = 32 * len(years), []
    parts += _months(scale, 0, height)
    for row, year in enumerate(years):
        top = 32 * row
        parts.append(text(0, top + 15, str(year)))
        parts += _bars(life, year, scale, top + 2, last)
        parts += _marks(life, year, scale, top + 30)
    return svg(height + 20, f"Phases of {name} year by year", parts)


def _bars(life: Life, year: int, scale: Scale, top: float, last: date) -> list[SafeString]:
    start = growing_year_start(year, scale.starts_in)
    end = growing_year_start(year + 1, scale.starts_in)
    length = (end - start).days
    parts = []
    for span in life.spans:
        css = _PHASE_CLASS.get(span.phase)
        since = max(span.since, start)
        until = min(span.until or last + timedelta(days=1), end)
        if css is None or since >= until:
            continue
        left, right = scale.x((since - start).days / length), scale.x((until - start).days / length)
        parts.append(
            format_html(
                '<rect x="{}" y="{}" width="{}" height="18" class="{}"/>',
                left,
                top,
                max(round(right - left, 1), 1),
                css,
            )
        )
        word = PHASE_LABELS[span.phase]
        if right - left > 7 * len(word) + 6:
            shade = "p-dark" if css == "p-raising" else "p-word"
            parts.append(text(round(left + 3, 1), top + 13, word, shade))
    return parts


def _marks(life: Life, year: int, scale: Scale, foot: float) -> list[SafeString]:
    start = growing_year_start(year, scale.starts_in)
    end = growing_year_start(year + 1, scale.starts_in)
    parts = []
    for kind, shape in _MARKS.items():
        for happened in life.dates.get(kind, []):
            if start <= happened < end:
                x = scale.x((happened - start).days / (end - start).days)
                path = shape.format(x=x, y=foot)
                parts.append(format_html('<path d="{}" class="mark"/>', path))
    return parts


def strip_rows(life: Life) -> list[tuple[str, date, date | None]]:
    """Return the same life as rows: phase, since, until."""
    return [(PHASE_LABELS[span.phase], span.since, span.until) for span in reversed(life.spans)]


def strip_sentence(life: Life) -> str:
    """Return what the strip shows, in a sentence or two."""
    winters = len(life.dates.get(Kind.WINTER_QUARTERS, [])) + len(
        life.dates.get(Kind.GONE_TO_REST, [])
    )
    outs = life.times_planted_out
    picked = len(life.dates.get(Kind.PICKED, []))
    facts = [
        f"planted out {_times(outs)}" if outs else "",
        f"put to rest {_times(winters)}" if winters else "",
        f"picked {_times(picked)}" if picked else "",
    ]
    said = ", ".join(fact for fact in facts if fact)
    return f"So far {said}." if said else f"Only “{_first_label(life)}” has marked its life so far."


def _first_label(life: Life) -> str:
    return RULES[next(iter(life.dates))].label


def _times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def freeze_chart(summary: ClimateSummary, starts_in: int) -> SafeString:
    """Draw, for each limit, from when to when the last and the first freeze fall.

    A bar runs from the date with nine in ten to the one with one in ten; its tick is the
    middle year.
    """
    scale = Scale(starts_in)
    limits = list(summary.freeze)
    height = 34 * len(limits)
    parts: list[SafeString] = _months(scale, 0, height)
    for row, limit in enumerate(limits):
        top = 34 * row
        parts.append(text(0, top + 21, f"{limit} °F"))
        for side in (summary.freeze[limit].spring, summary.freeze[limit].autumn):
            parts += _range(scale, [day for day in side.dates.values() if day], side.dates[50], top)
    return svg(height + 20, "When the last and the first freeze fall, by limit", parts)


def _range(scale: Scale, days: Sequence[str], middle: str | None, top: float) -> list[SafeString]:
    if not days:
        return []
    shares = [scale.of_month_day(day) for day in days]
    left, right = scale.x(min(shares)), scale.x(max(shares))
    bar = format_html(
        '<rect x="{}" y="{}" width="{}" height="14" class="p-cold"/>',
        left,
        top + 9,
        max(round(right - left, 1), 2),
    )
    if middle is None:
        return [bar]
    x = scale.x(scale.of_month_day(middle))
    return [bar, line(x, top + 5, x, top + 27, "middle")]


def nights_chart(
    summary: ClimateSummary, starts_in: int, today: date, window: Window | None = None
) -> SafeString:
    """Draw the mean night low through the year against the 50, 55 and 60 F lines.

    A step's ``window`` is laid behind it as a band, its best day as a heavy line.
    """
    scale = Scale(starts_in)
    known = [(value, index) for index, value in enumerate(summary.curve_c) if value is not None]
    limits = {limit: (limit - 32) / 1.8 for limit in LIMITS_F}
    low = min(min(known)[0], *limits.values()) - 4
    high = max(max(known)[0], *limits.values()) + 4
    height = 180

    def y(value: float) -> float:
        return round(height - (value - low) / (high - low) * height, 1)

    parts: list[SafeString] = _band(scale, window, height) if window else []
    parts += _months(scale, 0, height)
    for limit, value in limits.items():
        parts.append(line(LEFT, y(value), RIGHT, y(value), "limit"))
        parts.append(text(0, y(value) + 4, f"{limit} °F"))
        parts.append(text(RIGHT, y(value) - 3, degrees(value, "C"), "", "end"))
    for (value, index), drop in ((min(known), 14), (max(known), -5)):
        x = min(max(scale.x(scale.of_month_day(month_day(index + 1))), LEFT + 30), RIGHT - 30)
        parts.append(text(x, y(value) + drop, degrees(value, "C"), "", "middle"))
    parts += [
        format_html('<path d="{}" class="lines"/>', path) for path in _curve(summary, scale, y)
    ]
    now = scale.x(scale.of_month_day(f"{today:%m-%d}"))
    parts.append(line(now, 0, now, height, "now"))
    return svg(height + 20, "Mean night low through the year", parts)


def _band(scale: Scale, window: Window, height: float) -> list[SafeString]:
    """Draw a window; one that runs over the turn of the year is drawn in two pieces."""
    begin = scale.of_month_day(f"{window.earliest:%m-%d}")
    end = scale.of_month_day(f"{window.latest:%m-%d}")
    pieces = [(begin, end)] if begin <= end else [(begin, 1.0), (0.0, end)]
    parts = [
        format_html(
            '<rect x="{}" y="0" width="{}" height="{}" class="p-window"/>',
            scale.x(left),
            max(round(scale.x(right) - scale.x(left), 1), 2),
            height,
        )
        for left, right in pieces
    ]
    best = scale.x(scale.of_month_day(f"{window.best:%m-%d}"))
    return [*parts, line(best, 0, best, height, "middle")]


def _curve(summary: ClimateSummary, scale: Scale, y: Callable[[float], float]) -> list[str]:
    """Return the curve's stretches from the year's first month on; a gap stays a gap."""
    first = day_from_month_day(f"{scale.starts_in:02d}-01") - 1
    stretches: list[list[str]] = [[]]
    for offset in range(DAYS_IN_YEAR):
        value = summary.curve_c[(first + offset) % DAYS_IN_YEAR]
        if value is None:
            stretches.append([])
        else:
            stretches[-1].append(f"{scale.x(offset / DAYS_IN_YEAR)} {y(value)}")
    return ["M" + "L".join(points) for points in stretches if len(points) > 1]
