"""A site's own thermometer: its secret address, its readings, and the lows of its nights."""

import math
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from lifecycle.agronomy.forecast_nights import covers_night, night_span
from lifecycle.models import AirReading, DayReading, Membership, SensorAddress, Site
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import is_code, new_nonce
from lifecycle.records.weather.readings import COLDEST_C, HOTTEST_C

PURPOSE = "sensor"
KEPT = timedelta(days=400)
OLDEST = timedelta(days=30)
"""How late a reading may be sent."""

CLOCKS_DIFFER = timedelta(minutes=10)
LEAST_READINGS = 6
NIGHTS_BACK = 3
"""Nights for which a low is still worked out when readings come late."""

_NOBODYS = UUID(int=0)


def new_address(actor: Membership, site: Site, *, now: datetime) -> SensorAddress:
    """Make the address to which the site's thermometer sends; one made before ends."""
    require(actor, "forecast.edit")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")
    address, _ = SensorAddress.objects.update_or_create(
        site=site,
        defaults={
            "garden_id": site.garden_id,
            "nonce": new_nonce(),
            "made_at": now,
            "made_by": actor.person,
            "heard_at": None,
        },
    )
    return address


def end_addresses_of(member: Membership, *, now: datetime) -> None:
    """End the addresses that a member made, who goes; the site's page shows a new one each."""
    made = SensorAddress.objects.filter(garden=member.garden_id, made_by=member.person)
    for address in made.select_for_update().order_by("pk"):
        address.nonce, address.made_at, address.heard_at = new_nonce(), now, None
        address.save(update_fields=["nonce", "made_at", "heard_at"])


def address_by(pk: int, code: str) -> SensorAddress | None:
    """Return the address with this number and secret code; the work is the same for a wrong one."""
    address = SensorAddress.objects.select_related("site").filter(pk=pk).first()
    right = is_code(code, PURPOSE, pk, address.nonce if address else _NOBODYS)
    return address if right else None


def keep_reading(address: SensorAddress, *, air_c: float, at: datetime, now: datetime) -> bool:
    """Keep the air at one minute in C; returns False where that minute is kept already.

    Raises Refused for air that cannot be, and for a time to come or over 30 days ago.
    """
    if not (math.isfinite(air_c) and COLDEST_C <= air_c <= HOTTEST_C):
        raise Refused(f"{air_c:g} C cannot be. Send {COLDEST_C} to {HOTTEST_C} C.")
    if at > now + CLOCKS_DIFFER:
        raise Refused("The time of the reading has not come yet. Set the clock of the sender.")
    if at < now - OLDEST:
        raise Refused(f"The reading is over {OLDEST.days} days old. Send newer ones.")
    minute = min(at, now).replace(second=0, microsecond=0)
    _, made = AirReading.objects.get_or_create(
        site=address.site,
        at=minute,
        defaults={"garden_id": address.garden_id, "air_c": round(air_c, 2)},
    )
    SensorAddress.objects.filter(pk=address.pk).update(heard_at=now)
    return made


def low_heard(site: Site, night: date) -> float | None:
    """Return the low in C of a night as the thermometer sent it.

    None with fewer than six readings from 18:00 to 09:00, or a gap over three hours.
    """
    zone = ZoneInfo(site.time_zone)
    heard = AirReading.objects.filter(site=site, at__range=night_span(night, zone)).order_by("at")
    readings = list(heard.values_list("at", "air_c"))
    if len(readings) < LEAST_READINGS:
        return None
    if not covers_night([at for at, _ in readings], night, zone):
        return None
    return min(air_c for _, air_c in readings)


def keep_lows(*, now: datetime) -> int:
    """Put the lows of the last nights into the days' readings; returns how many.

    A night counts once it is over. What a person typed stays.
    """
    kept = 0
    for address in SensorAddress.objects.filter(heard_at__isnull=False).select_related("site"):
        site = address.site
        today = site.local_day(now)
        known = set(
            DayReading.objects.filter(
                site=site, day__gt=today - timedelta(NIGHTS_BACK), tmin_c__isnull=False
            ).values_list("day", flat=True)
        )
        for back in range(NIGHTS_BACK):
            day = today - timedelta(back)
            night = day - timedelta(1)
            if day in known or now <= night_span(night, ZoneInfo(site.time_zone))[1]:
                continue
            low_c = low_heard(site, night)
            kept += low_c is not None and _keep_low(site, day, low_c, now)
    return kept


def _keep_low(site: Site, day: date, low_c: float, now: datetime) -> bool:
    """Write a low where none stands; not above the day's high, which somebody then misread."""
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        row = DayReading.objects.filter(site=site, day=day).first()
        if row is None:
            DayReading.objects.create(
                garden_id=site.garden_id, site=site, day=day, tmin_c=low_c, at=now
            )
            return True
        if row.tmin_c is not None or (row.tmax_c is not None and row.tmax_c < low_c):
            return False
        DayReading.objects.filter(pk=row.pk).update(tmin_c=low_c)
        return True


def prune(*, now: datetime) -> int:
    """Delete readings older than 400 days; returns how many."""
    return AirReading.objects.filter(at__lt=now - KEPT).delete()[0]
