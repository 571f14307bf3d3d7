"""A bed's water day by day as bars; the page sets the same days beside it as a table."""

from collections.abc import Sequence
from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString

from lifecycle.care.bed_water import BedWater, WaterDay
from lifecycle.care.wording import measure
from lifecycle.models import Person
from lifecycle.web.charts import LEFT, RIGHT, line, svg, text

BEHIND, AHEAD = 14, 8
"""Days shown before today, and from today on."""
HEIGHT, LANE = 100, 14


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
        line(LEFT, limit, RIGHT, limit, "limit"),
        line(now, 0, now, LANE + HEIGHT, "now"),
        text(0, LANE + 10, measure(water.holds, "mm", person.length)),
        text(0, LANE + HEIGHT, "dry"),
        text(now, LANE + HEIGHT + 15, "today"),
    ]
    return svg(LANE + HEIGHT + 20, "Water left in the bed, day by day", parts)


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
