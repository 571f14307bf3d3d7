"""Keep what a site's own gauge and thermometer say, day by day."""

import math
from datetime import date, datetime

from django.db import transaction

from lifecycle.models import DayReading, Membership, Site
from lifecycle.permissions import require
from lifecycle.records.crops.drafts import EARLIEST
from lifecycle.records.refusal import Refused

COLDEST_C, HOTTEST_C = -60, 60
MOST_RAIN_MM = 1000


def type_reading(
    actor: Membership,
    site: Site,
    *,
    day: date,
    tmin_c: float | None,
    tmax_c: float | None,
    rain_mm: float | None,
    now: datetime,
) -> DayReading:
    """Set down a day's low and high in C and its rain in mm.

    What is left out stays as it was typed before. Raises Refused for a day to come, for
    values no day brings, and when nothing is given.
    """
    require(actor, "weather.type")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")
    _check_day(day, site.local_day(now))
    given = {
        name: value
        for name, value in (("tmin_c", tmin_c), ("tmax_c", tmax_c), ("rain_mm", rain_mm))
        if value is not None
    }
    if not given:
        raise Refused("Give the rain, the low or the high of the day.", "rain_mm")
    _check_values(given)
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        before = DayReading.objects.filter(site=site, day=day).first()
        low = given.get("tmin_c", before.tmin_c if before else None)
        high = given.get("tmax_c", before.tmax_c if before else None)
        if low is not None and high is not None and high < low:
            raise Refused(
                "The high of the day is below its low. Check whether the two were swapped.",
                "tmax_c",
            )
        row, _ = DayReading.objects.update_or_create(
            site=site,
            day=day,
            defaults={"garden_id": site.garden_id, "by": actor.person, "at": now, **given},
        )
    return row


def overnight_low(actor: Membership, site: Site, low_c: float, now: datetime) -> DayReading:
    """Set down the low in C of the night that ended today, as a member read it this morning."""
    return type_reading(
        actor,
        site,
        day=site.local_day(now),
        tmin_c=low_c,
        tmax_c=None,
        rain_mm=None,
        now=now,
    )


def _check_day(day: date, today: date) -> None:
    if day > today:
        raise Refused(
            f"{day:%-d %B %Y} has not come yet at this site. Give today or an earlier day.", "day"
        )
    if day < EARLIEST:
        raise Refused(f"{day:%-d %B %Y} is too long ago. Give a day after 1950.", "day")


def _check_values(given: dict[str, float]) -> None:
    for name, value in given.items():
        low, high, unit = (
            (0, MOST_RAIN_MM, "mm") if name == "rain_mm" else (COLDEST_C, HOTTEST_C, "°C")
        )
        if not (math.isfinite(value) and low <= value <= high):
            what = {"rain_mm": "Rain", "tmin_c": "Low", "tmax_c": "High"}[name]
            raise Refused(f"{what}: {value:g} {unit} cannot be. Give {low} to {high} {unit}.", name)
