"""The lows of the next seven nights as bars against the two planting-out floors."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.utils.html import format_html
from django.utils.safestring import SafeString

from lifecycle.care.readiness import allows
from lifecycle.care.wording import degrees
from lifecycle.handbook import fact
from lifecycle.models import Person
from lifecycle.web.charts import LEFT, RIGHT, line, svg, text

HEIGHT, STEP, WIDE = 150, 42, 30


def seven_nights(first: date, lows_c: Sequence[float], person: Person) -> SafeString:
    """Draw each night's low, its value above it, and the lines at 50 and 55 F."""
    floors = [fact("plant_out.allowed_night").si, fact("plant_out.ready_night").si]
    bottom = min(*lows_c, *floors) - 3
    top = max(*lows_c, *floors) + 3

    def y(value: float) -> float:
        return round(HEIGHT - (value - bottom) / (top - bottom) * HEIGHT, 1)

    parts = []
    for number, low in enumerate(lows_c):
        x, css = LEFT + STEP * number, "p-growing" if allows(low, floors[0]) else "p-cold"
        bar = (x, y(low), WIDE, round(HEIGHT - y(low), 1), css)
        middle = x + WIDE / 2
        parts += [
            format_html('<rect x="{}" y="{}" width="{}" height="{}" class="{}"/>', *bar),
            text(middle, y(low) - 4, degrees(low, person.temperature), "", "middle"),
            text(middle, HEIGHT + 15, f"{first + timedelta(number):%a}", "", "middle"),
        ]
    for floor in floors:
        parts.append(line(LEFT, y(floor), RIGHT, y(floor), "limit"))
        parts.append(text(0, y(floor) + 4, degrees(floor, person.temperature)))
    title = "Lows of the next seven nights against the planting-out floors"
    return svg(HEIGHT + 20, title, parts)
