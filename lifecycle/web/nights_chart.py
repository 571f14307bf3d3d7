"""The lows of the next seven nights as bars against the two planting-out floors."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from lifecycle.care.wording import degrees
from lifecycle.handbook import fact
from lifecycle.models import Person

WIDTH, HEIGHT, LEFT, STEP = 340, 150, 46, 42


def seven_nights(first: date, lows_c: Sequence[float], person: Person) -> SafeString:
    """Draw each night's low, its value above it, and the lines at 50 and 55 F."""
    floors = [fact("plant_out.allowed_night").si, fact("plant_out.ready_night").si]
    bottom = min(*lows_c, *floors) - 3
    top = max(*lows_c, *floors) + 3

    def y(value: float) -> float:
        return round(HEIGHT - (value - bottom) / (top - bottom) * HEIGHT, 1)

    parts = []
    for number, low in enumerate(lows_c):
        x, css = LEFT + STEP * number, "p-growing" if low >= floors[0] - 0.05 else "p-cold"
        day = first + timedelta(number)
        parts.append(
            format_html(
                '<rect x="{}" y="{}" width="30" height="{}" class="{}"/>'
                '<text x="{}" y="{}" text-anchor="middle">{}</text>'
                '<text x="{}" y="{}" text-anchor="middle">{}</text>',
                *(x, y(low), round(HEIGHT - y(low), 1), css),
                *(x + 15, y(low) - 4, degrees(low, person.temperature)),
                *(x + 15, HEIGHT + 15, f"{day:%a}"),
            )
        )
    for floor in floors:
        parts.append(
            format_html(
                '<line x1="{}" y1="{}" x2="{}" y2="{}" class="limit"/><text x="0" y="{}">{}</text>',
                *(LEFT, y(floor), WIDTH - 6, y(floor), y(floor) + 4),
                degrees(floor, person.temperature),
            )
        )
    return format_html(
        '<svg viewBox="0 0 {} {}" role="img" aria-label="{}" focusable="false">{}</svg>',
        WIDTH,
        HEIGHT + 20,
        "Lows of the next seven nights against the planting-out floors",
        mark_safe("".join(parts)),
    )
