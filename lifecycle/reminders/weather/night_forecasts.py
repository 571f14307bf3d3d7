"""What is told of the coming nights at a site, by whom, and how fresh it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, QuerySet, Subquery

from lifecycle.agronomy.forecast_errors import ForecastError
from lifecycle.agronomy.night_prior import NightPrior
from lifecycle.care.outlook import Nights
from lifecycle.models import DayReading, ForecastSource, NightForecast, SevenNightLows, Site
from lifecycle.records.weather.forecast_age import stale
from lifecycle.records.weather.night_prior import prior_in_use
from lifecycle.reminders.weather.forecast_skill import learned_error

Kind = ForecastSource.Kind

WEEK = 7

_LOOKED_AT = 15
"""Nights from which the newest week is found: those that an issue may tell, and tonight."""


@dataclass(frozen=True, slots=True)
class Credit:
    """Who made a forecast, as it must be named, and the terms it may be used under."""

    name: str
    terms: str = ""
    address: str = ""

    def __str__(self) -> str:
        return f"{self.name} ({self.terms})" if self.terms else self.name


CREDITS: Mapping[str, Credit] = {
    Kind.GRIDPOINT: Credit(
        "National Weather Service", "public domain", "https://www.weather.gov/disclaimer"
    ),
    Kind.DAILY: Credit(
        "Open-Meteo.com", "CC BY 4.0", "https://creativecommons.org/licenses/by/4.0/"
    ),
    Kind.FILE: Credit("a file of this garden"),
    Kind.TYPED: Credit("a member"),
}


def in_force(site: Site, night: date, now: datetime) -> NightForecast | None:
    """Return the forecast that a night is judged by, of those received by ``now``.

    Of what was typed last and what a service told last the colder, while both are fresh: a typing
    error calls nothing off, and a member who knows a frost hollow is not overruled by the next
    fetch. Else the newest.
    """
    told = _told(site, night, now)
    typed = told.filter(source=Kind.TYPED).first()
    service = told.exclude(source=Kind.TYPED).first()
    if typed is None or service is None:
        return typed or service
    if stale(typed, now) or stale(service, now):
        return max(typed, service, key=lambda row: (row.issued_at, row.pk))
    return min(typed, service, key=lambda row: row.low_c)


def _told(site: Site, night: date, now: datetime) -> QuerySet[NightForecast]:
    """Return the issues of a night that were received by ``now``, the newest first."""
    told = NightForecast.objects.filter(site=site, night=night, received_at__lte=now)
    return told.select_related("site__forecast_source", "by").order_by("-issued_at", "-pk")


def newest_of_each(site: Site, now: datetime | None = None) -> QuerySet[NightForecast]:
    """Return the newest issue of each night, of what was received by ``now``."""
    told = NightForecast.objects.filter(site=site)
    if now is not None:
        told = told.filter(received_at__lte=now)
    best = told.filter(night=OuterRef("night")).order_by("-issued_at", "-pk")
    return told.filter(pk=Subquery(best.values("pk")[:1])).select_related("by")


def nights_in_use(site: Site, now: datetime) -> Nights | None:
    """Return the lows of the seven nights from tonight on, or as a member typed them before.

    None unless all seven are told.
    """
    today = site.local_day(now)
    rows = newest_of_each(site, now).filter(night__range=(today, today + timedelta(WEEK - 1)))
    return _week({row.night: row for row in rows}, today) or _typed_before(site)


def nights_told(site: Site) -> Nights | None:
    """Return the lows of seven nights from the day of the newest issue on, whenever that was.

    For plans, which see for themselves whether the nights are past; one query where forecasts
    are kept.
    """
    rows = list(newest_of_each(site).order_by("-night")[:_LOOKED_AT])
    if not rows:
        return _typed_before(site)
    last = max(row.issued_at for row in rows)
    first = min(row.night for row in rows if row.issued_at == last)
    told = {row.night: row for row in rows}
    return _week(told, max(first, site.local_day(last))) or _week(told, first)


def _week(told: Mapping[date, NightForecast], first: date) -> Nights | None:
    nights = [first + timedelta(number) for number in range(WEEK)]
    if any(night not in told for night in nights):
        return None
    rows = [told[night] for night in nights]
    services = dict.fromkeys(row.source for row in rows if row.source != Kind.TYPED)
    told_by = " and ".join(str(CREDITS[service]) for service in services)
    return Nights(first, tuple(row.low_c for row in rows), told_by)


def _typed_before(site: Site) -> Nights | None:
    typed = SevenNightLows.objects.filter(site=site).first()
    return Nights(typed.first_night, tuple(typed.lows_c)) if typed else None


def attribution(forecast: NightForecast) -> str:
    """Return the words that name a forecast's source and the time of its issue: no full stop."""
    local = forecast.issued_at.astimezone(ZoneInfo(forecast.site.time_zone))
    when = f"{local:%H:%M} on {local.day} {local:%B}"
    if forecast.source == Kind.TYPED:
        return f"Forecast typed in at {when} by {forecast.by or 'a member'}"
    return f"Forecast of {when}, {CREDITS[forecast.source]}"


def low_of(site: Site, night: date) -> float | None:
    """Return the low in C of a past night as the site's own thermometer was read, or None."""
    read = DayReading.objects.filter(site=site, day=night + timedelta(1))
    return read.values_list("tmin_c", flat=True).first()


def error_for(site: Site, lead_nights: int, calm: bool | None, now: datetime) -> ForecastError:
    """Return by how much a forecast for so many nights ahead errs here; ``calm``: its kind of air.

    Learned from 30 pairs of forecast and low of the past two years, else as published.
    """
    return learned_error(site, lead_nights, calm, now)


def prior_of_site(site: Site) -> NightPrior | None:
    """Return what the site's record says of its nights through the year; None without one."""
    return prior_in_use(site)
