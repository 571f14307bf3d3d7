"""A bed's water day by day as bars; the page sets the same days beside it as a table."""

from collections.abc import Sequence
from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from lifecycle.care.bed_water import BedWater, WaterDay
from lifecycle.care.wording import measure
from lifecycle.models import Person

BEHIND, AHEAD = 14, 8
"""Days shown before today, and from today on."""
WIDTH, HEIGHT, LEFT, RIGHT, LANE = 340, 100, 46, 334, 14


def days_shown(water: BedWater, today: date) -> list[WaterDay]:
    """Return the last two weeks of a balance and the week to come."""
    return [day for day in water.days if -BEHIND <= (day.day - today).days < AHEAD]


def water_strip(water: BedWater, today: date, person: Person) -> SafeString:
    """Draw what a bed holds each evening, rain and waterings above, and where plants lack it."""
    shown = days_shown(water, today)
    step = (RIGHT - LEFT) / (BEHIND + AHEAD)
    limit = _y(water.easy, water)
    parts = [
        part
        for day in shown
        for part in _day(
            day, water, round(LEFT + step * ((day.day - today).days + BEHIND), 1), step
        )
    ]
    now = round(LEFT + step * BEHIND, 1)
    parts += [
        format_html(
            '<line x1="{}" y1="{}" x2="{}" y2="{}" class="limit"/>', LEFT, limit, RIGHT, limit
        ),
        format_html(
            '<line x1="{}" y1="{}" x2="{}" y2="{}" class="now"/>', now, 0, now, LANE + HEIGHT
        ),
        _words(0, LANE + 10, measure(water.holds, "mm", person.length)),
        _words(0, LANE + HEIGHT, "dry"),
        _words(now, LANE + HEIGHT + 15, "today"),
    ]
    return format_html(
        '<svg viewBox="0 0 {} {}" role="img" aria-label="{}" focusable="false">{}</svg>',
        WIDTH,
        LANE + HEIGHT + 20,
        "Water left in the bed, day by day",
        mark_safe("".join(parts)),
    )


def _y(missing: float, water: BedWater) -> float:
    return round(LANE + missing / water.holds * HEIGHT, 1)


def _day(day: WaterDay, water: BedWater, x: float, step: float) -> Sequence[SafeString]:
    top = _y(day.missing, water)
    parts = [
        format_html(
            '<rect x="{}" y="{}" width="{}" height="{}" class="{}"/>',
            x,
            top,
            round(step - 2, 1),
            round(LANE + HEIGHT - top, 1),
            "p-growing" if day.expected else "p-cold",
        )
    ]
    middle = round(x + step / 2 - 1, 1)
    if day.rain > 0:
        parts.append(format_html('<path d="M{} 1l-4 8h8z" class="mark"/>', middle))
    if day.given > 0:
        parts.append(format_html('<path d="M{} 2h6v6h-6z" class="mark"/>', middle - 3))
    return parts


def _words(x: float, y: float, words: str) -> SafeString:
    return format_html('<text x="{}" y="{}">{}</text>', x, y, words)
