"""The lows of the next seven nights as bars against the two planting-out floors."""

from datetime import timedelta

from django.utils.html import format_html
from django.utils.safestring import SafeString

from lifecycle.care.outlook import Nights
from lifecycle.care.readiness import allows
from lifecycle.care.site_dates import CropNights
from lifecycle.care.wording import degrees
from lifecycle.models import Person
from lifecycle.web.charts import LEFT, RIGHT, line, svg, text

HEIGHT, STEP, WIDE = 150, 42, 30


def seven_nights(nights: Nights, wanted: CropNights, person: Person) -> SafeString:
    """Draw each night's low, its value above it, and the floors of ``wanted``."""
    floors = sorted({wanted.allowed_c, wanted.ready_c})
    bottom = min(*nights.lows_c, *floors) - 3
    top = max(*nights.lows_c, *floors) + 3

    def y(value: float) -> float:
        return round(HEIGHT - (value - bottom) / (top - bottom) * HEIGHT, 1)

    parts = []
    for number, low in enumerate(nights.lows_c):
        x, css = LEFT + STEP * number, "p-growing" if allows(low, floors[0]) else "p-cold"
        bar = (x, y(low), WIDE, round(HEIGHT - y(low), 1), css)
        middle = x + WIDE / 2
        parts += [
            format_html('<rect x="{}" y="{}" width="{}" height="{}" class="{}"/>', *bar),
            text(middle, y(low) - 4, degrees(low, person.temperature), "", "middle"),
            text(middle, HEIGHT + 15, f"{nights.first + timedelta(number):%a}", "", "middle"),
        ]
    for floor in floors:
        parts.append(line(LEFT, y(floor), RIGHT, y(floor), "limit"))
        parts.append(text(0, y(floor) + 4, degrees(floor, person.temperature)))
    title = "Lows of the next seven nights against the planting-out floors"
    return svg(HEIGHT + 20, title, parts)
