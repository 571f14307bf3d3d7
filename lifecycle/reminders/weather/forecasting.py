"""Fetch the forecasts that are due, and keep them night by night as they were issued."""

from datetime import datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q

from lifecycle.agronomy.forecast_answer import LARGEST
from lifecycle.agronomy.forecast_daily import DAILY, HOURLY, read_daily
from lifecycle.agronomy.forecast_file import read_file
from lifecycle.agronomy.forecast_gridpoint import read_address, read_gridpoint
from lifecycle.models import ForecastSource, Site
from lifecycle.records.weather import sensors
from lifecycle.records.weather.forecasts import keep_issue
from lifecycle.reminders.weather import forecast_fetch
from lifecycle.reminders.weather.forecast_fetch import (
    AS_FORECAST,
    AS_PLACE,
    Asker,
    NoForecast,
    at_same_host,
)

BACKOFF = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 30, 60, 120))
FILE_READ_EVERY = timedelta(minutes=10)
CLAIMED_FOR = timedelta(minutes=10)
"""A tick that dies leaves its sources to another one after this; it cannot live as long."""

DAYS_AHEAD = 8


def fetch_all(*, now: datetime) -> int:
    """Fetch what is due, and put the lows of thermometers on record.

    Returns how many nights were kept. A failure is one sentence on its source, and the source
    is tried again later.
    """
    kept = 0
    asker = Asker(now)
    try:
        for source in _claimed(now):
            kept += _try(source, asker)
    finally:
        asker.close()
    forecast_fetch.prune(now=now)
    sensors.prune(now=now)
    return kept + sensors.keep_lows(now=now)


def _claimed(now: datetime) -> list[ForecastSource]:
    """Take the sources that are due, so that no other tick asks for them; oldest try first."""
    due = ForecastSource.objects.exclude(kind=ForecastSource.Kind.TYPED).filter(
        Q(next_try_at__isnull=True) | Q(next_try_at__lte=now)
    )
    with transaction.atomic():
        ids = list(due.select_for_update().order_by("pk").values_list("pk", flat=True))
        ForecastSource.objects.filter(pk__in=ids).update(next_try_at=now + CLAIMED_FOR)
    rows = ForecastSource.objects.filter(pk__in=ids).select_related("site")
    return list(rows.order_by(F("tried_at").asc(nulls_first=True), "pk"))


def _try(source: ForecastSource, asker: Asker) -> int:
    """Fetch one source and note how it went; returns how many nights were kept."""
    now = asker.now
    # Whoever chose another source meanwhile is not overruled.
    row = ForecastSource.objects.filter(pk=source.pk, set_at=source.set_at)
    try:
        kept, next_try_at = _fetch(source, asker)
    except (NoForecast, ValueError) as problem:
        pause = problem.pause if isinstance(problem, NoForecast) else timedelta(0)
        failures = min(source.failures + 1, 1000)
        wait = max(BACKOFF[min(failures, len(BACKOFF)) - 1], pause)
        row.update(
            tried_at=now,
            next_try_at=now + wait,
            failures=failures,
            last_error=str(problem)[:300],
        )
        return 0
    row.update(tried_at=now, worked_at=now, next_try_at=next_try_at, failures=0, last_error="")
    return kept


def _fetch(source: ForecastSource, asker: Asker) -> tuple[int, datetime]:
    """Return how many nights a source gave, and when to ask again."""
    if source.kind == ForecastSource.Kind.FILE:
        return _from_file(source, asker.now), asker.now + FILE_READ_EVERY
    ask = _ask_gridpoint if source.kind == ForecastSource.Kind.GRIDPOINT else _ask_daily
    return ask(source.site, asker)


def _ask_gridpoint(site: Site, asker: Asker) -> tuple[int, datetime]:
    latitude, longitude = _place(site)
    point = f"{settings.GRIDPOINT_URL}/points/{latitude},{longitude}"
    grid, _ = asker.ask(
        point, AS_PLACE, lambda answer: at_same_host(point, read_address(answer.body))
    )
    zone = ZoneInfo(site.time_zone)
    try:
        issue, answer = asker.ask(
            grid, AS_FORECAST, lambda answer: read_gridpoint(answer.body, zone)
        )
    except (NoForecast, ValueError):
        # Grids are laid anew now and then: ask where the place lies in it.
        forecast_fetch.forget(point)
        raise
    kept = keep_issue(site, ForecastSource.Kind.GRIDPOINT, issue, now=asker.now)
    return kept, answer.expires_at


def _ask_daily(site: Site, asker: Asker) -> tuple[int, datetime]:
    latitude, longitude = _place(site)
    query = {
        "latitude": latitude,
        "longitude": longitude,
        "hourly": ",".join(HOURLY),
        "daily": ",".join(DAILY),
        "wind_speed_unit": "ms",
        "timezone": site.time_zone,
        "past_days": 1,
        "forecast_days": DAYS_AHEAD,
    }
    zone = ZoneInfo(site.time_zone)
    issue, answer = asker.ask(
        f"{settings.FORECAST_URL}/v1/forecast?{urlencode(query, safe=',/')}",
        AS_FORECAST,
        lambda answer: read_daily(answer.body, zone, answer.fetched_at),
    )
    kept = keep_issue(site, ForecastSource.Kind.DAILY, issue, now=asker.now)
    return kept, answer.expires_at


def _place(site: Site) -> tuple[str, str]:
    """Return latitude and longitude to two decimals, about a kilometre: neighbours ask once."""
    if site.longitude is None:
        raise NoForecast("This site has no longitude, and the service is asked by place.")
    return f"{round(site.latitude, 2) + 0.0:g}", f"{round(site.longitude, 2) + 0.0:g}"


def _from_file(source: ForecastSource, now: datetime) -> int:
    folder = Path(settings.FORECAST_DROP).resolve()
    path = (folder / source.file_name).resolve()
    if not source.file_name or path.parent != folder or (path.exists() and not path.is_file()):
        raise NoForecast("The forecast file does not lie in the forecast folder.")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError:
        raise NoForecast(
            f"There is no file {source.file_name} in the forecast folder, or it cannot be read."
        ) from None
    issues = read_file(data, ZoneInfo(source.site.time_zone))
    return sum(keep_issue(source.site, source.kind, issue, now=now) for issue in issues)
