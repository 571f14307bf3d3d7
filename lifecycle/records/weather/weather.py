"""Keep a site's daily record, typed dates and the next seven nights."""

import gzip
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max

from lifecycle.agronomy.daily_record import RecordError, Units
from lifecycle.agronomy.forecast_nights import ForecastIssue, NightTold
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.care.site_dates import typed as typed_dates
from lifecycle.models import (
    ForecastSource,
    Membership,
    NightForecast,
    SevenNightLows,
    Site,
    TypedClimate,
    WeatherRecord,
)
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused
from lifecycle.records.weather.forecast_age import stale
from lifecycle.records.weather.forecasts import keep_issue
from lifecycle.records.weather.night_prior import KEPT_AS, nights_as_kept, prior_in_use

LARGEST = 30 * 1024 * 1024

FAR_FROM_TOLD_C = 15.0
FAR_FROM_RECORD_C = 8.0
"""So far from a fresh forecast, or beyond all nights of its season, a typed low is an error.

Common practice, no source.
"""


def add_record(
    actor: Membership,
    site: Site,
    *,
    name: str,
    data: bytes,
    units: Units | None,
    now: datetime,
    invented: bool = False,
) -> WeatherRecord:
    """Read a daily record, compute the site's climate from it and put it in use.

    The bytes are kept as they came. Raises Refused with the reader's sentence.
    """
    require(actor, "weather.add")
    _own(actor, site)
    if len(data) > LARGEST:
        raise Refused("The file is larger than 30 MB. Send one station, or a shorter span.", "file")
    try:
        record = read_daily_record(data, units=units, latitude=site.latitude)
        climate = summarise(record, latitude=site.latitude).as_stored()
        climate[KEPT_AS] = nights_as_kept(record)
    except RecordError as problem:
        raise Refused(str(problem), "file") from None
    if record.dates[-1] > np.datetime64(site.local_day(now)):
        raise Refused(
            f"The file runs to {record.dates[-1]}, which is in the future. "
            "Send a record of what was measured.",
            "file",
        )
    packed = data if data[:2] == b"\x1f\x8b" else gzip.compress(data, mtime=0)
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        before = WeatherRecord.objects.filter(site=site, in_use=True).first()
        if before is not None:
            if bytes(before.source_gz) == packed:
                return before
            _refuse_poorer(before, climate)
            WeatherRecord.objects.filter(pk=before.pk).update(in_use=False)
        return WeatherRecord.objects.create(
            garden_id=site.garden_id,
            site=site,
            name=" ".join(name.replace("\x00", " ").split())[:120] or "Daily record",
            source_gz=packed,
            climate=climate,
            invented=invented,
            added_at=now,
            added_by=actor.person,
        )


def _refuse_poorer(before: WeatherRecord, climate: dict[str, Any]) -> None:
    """Keep a firm record in use when the new one is not firm."""
    old, new = before.climate["zone"], climate["zone"]
    if old["status"] == "firm" and new["status"] != "firm":
        raise Refused(
            f"This file has {new['years']} whole winters; the record in use, “{before.name}”, has "
            f"{old['years']}. It stays in use. Send a longer record to replace it.",
            "file",
        )


def type_climate(
    actor: Membership,
    site: Site,
    *,
    half_zone: str,
    zone_source: str,
    last_freeze: str,
    first_freeze: str,
    warm_from: str,
    cool_from: str,
) -> TypedClimate:
    """Set the typed dates of a site, each as MM-DD or empty."""
    require(actor, "weather.add")
    _own(actor, site)
    typed = TypedClimate.objects.filter(site=site).first() or TypedClimate(
        garden_id=site.garden_id, site=site
    )
    typed.half_zone = half_zone.strip().lower()
    typed.zone_source = zone_source.strip()
    for field, value in (
        ("last_freeze", last_freeze),
        ("first_freeze", first_freeze),
        ("warm_from", warm_from),
        ("cool_from", cool_from),
    ):
        setattr(typed, field, _month_day(value.strip(), field))
    try:
        typed.full_clean(exclude=["garden"])
    except ValidationError as problem:
        field, sentences = next(iter(problem.message_dict.items()))
        raise Refused(" ".join(sentences), field) from None
    _refuse_impossible_dates(site, typed)
    columns = ("half_zone", "zone_source", "last_freeze", "first_freeze", "warm_from", "cool_from")
    saved, _ = TypedClimate.objects.update_or_create(
        site=site,
        defaults={"garden_id": site.garden_id} | {name: getattr(typed, name) for name in columns},
    )
    return saved


def _refuse_impossible_dates(site: Site, given: TypedClimate) -> None:
    """Refuse typed dates that no year at the site could bring, or that plan nothing."""
    for field, words, spring in (
        ("last_freeze", "The last freeze", True),
        ("warm_from", "The start of warm nights", True),
        ("first_freeze", "The first freeze", False),
        ("cool_from", "The start of cool nights", False),
    ):
        value = getattr(given, field)
        half = _HALVES[site.southern, spring]
        if value and not _in_half(int(value[:2]), spring=spring, southern=site.southern):
            raise Refused(f"{words} falls in {half} here. Give such a date.", field)
    dates = {
        name: getattr(given, name)
        for name in ("half_zone", "last_freeze", "first_freeze", "warm_from", "cool_from")
    }
    any_date = any(value for name, value in dates.items() if name != "half_zone")
    planned = typed_dates(**dates, southern=site.southern, year_starts_in=site.year_starts_in)
    if any_date and planned is None:
        raise Refused(
            "These dates are too few to plan by. Give the last freeze or the start of warm nights, "
            "and the first freeze or the start of cool nights.",
            "last_freeze",
        )


_HALVES = {
    (False, True): "January to July",
    (False, False): "August to December",
    (True, True): "July to January",
    (True, False): "February to June",
}


def _in_half(month: int, *, spring: bool, southern: bool) -> bool:
    if southern:
        return month in (7, 8, 9, 10, 11, 12, 1) if spring else 2 <= month <= 6
    return month <= 7 if spring else month >= 8


def type_seven_nights(
    actor: Membership, site: Site, *, first_night: date, lows_c: Sequence[float], now: datetime
) -> SevenNightLows:
    """Set the lows expected for the next seven nights, in C.

    Raises Refused where a low is far from a fresh forecast of a service, or from every night that
    the record and such a forecast know of its season: most often it is in the other unit.
    """
    require(actor, "weather.type")
    _own(actor, site)
    today = site.local_day(now)
    if not today - timedelta(1) <= first_night <= today + timedelta(7):
        raise Refused(
            f"The first night, {first_night:%-d %B %Y}, is not one of the coming nights. "
            f"Give {today:%-d %B %Y} or a day of the week after it.",
            "first_night",
        )
    if len(lows_c) != 7:
        raise Refused(f"Give seven nights, not {len(lows_c)}.", "lows")
    for index, low in enumerate(lows_c):
        if not -60 <= low <= 45:
            night = first_night + timedelta(index)
            raise Refused(
                f"{low:.0f} °C for the night of {night:%-d %B} cannot be. Check the unit.", "lows"
            )
    told = tuple(NightTold(first_night + timedelta(index), low) for index, low in enumerate(lows_c))
    _refuse_far_off(site, told, now)
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        nights, _ = SevenNightLows.objects.update_or_create(
            site=site,
            defaults={
                "garden_id": site.garden_id,
                "first_night": first_night,
                "lows_c": [round(low, 2) for low in lows_c],
                "typed_by": actor.person,
            },
        )
        issue = ForecastIssue(_after_the_last(site, now), told)
        keep_issue(site, ForecastSource.Kind.TYPED, issue, now=now, by=actor.person)
    return nights


def _refuse_far_off(site: Site, nights: Sequence[NightTold], now: datetime) -> None:
    """Refuse a low that cannot be meant, by what services tell and by the site's record."""
    services = _told_by_services(site, nights, now)
    prior = prior_in_use(site)
    for night in nights:
        told = services.get(night.night)
        if told is not None and abs(night.low_c - told) > FAR_FROM_TOLD_C:
            raise _far_off(night, f"the newest forecast, {told:.0f} °C")
        if prior is None:
            continue
        known = prior.lows_c()[prior.season(night.night) > 0]
        # A night that breaks the record may be typed where a service tells of it as well.
        reach = [float(known.min()), float(known.max()), *([] if told is None else [told])]
        if not min(reach) - FAR_FROM_RECORD_C <= night.low_c <= max(reach) + FAR_FROM_RECORD_C:
            raise _far_off(night, f"such nights on record, {min(known):.0f} to {max(known):.0f} °C")


def _far_off(night: NightTold, known: str) -> Refused:
    return Refused(
        f"{night.low_c:.0f} °C for the night of {night.night:%-d %B} is far from {known}. "
        "Check the unit.",
        "lows",
    )


def _told_by_services(site: Site, nights: Sequence[NightTold], now: datetime) -> dict[date, float]:
    """Return the low of the newest issue of a service for each night, where that is fresh."""
    told = NightForecast.objects.filter(
        site=site, night__in=[each.night for each in nights], received_at__lte=now
    ).exclude(source=ForecastSource.Kind.TYPED)
    told = told.select_related("site__forecast_source").order_by("issued_at", "pk")
    newest = {row.night: row for row in told}
    return {night: row.low_c for night, row in newest.items() if not stale(row, now)}


def _after_the_last(site: Site, now: datetime) -> datetime:
    """Return ``now``, or just after what was typed last: the later one is the newer issue."""
    typed = NightForecast.objects.filter(
        site=site, source=ForecastSource.Kind.TYPED, received_at__lte=now
    )
    last = typed.aggregate(last=Max("issued_at"))["last"]
    return now if last is None or last < now else last + timedelta(milliseconds=1)


def _own(actor: Membership, site: Site) -> None:
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")


def _month_day(value: str, field: str) -> str:
    if not value:
        return ""
    try:
        date.fromisoformat(f"2000-{value}")
    except ValueError:
        raise Refused(
            f"“{value[:20]}” is not a day of the year. Give MM-DD, such as 05-12.", field
        ) from None
    return value
