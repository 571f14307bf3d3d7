"""Keep forecasts as they were issued, and where a site has them from."""

import re
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from lifecycle.agronomy.forecast_nights import ForecastIssue
from lifecycle.models import ForecastSource, Membership, NightForecast, Person, Site
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused

COMPARED_BEFORE = time(16)
"""A forecast issued later in the day, by the site's clock, is not compared with other days'."""

FARTHEST = 14
"""Nights ahead of its day of issue that a forecast is kept for."""

CLOCKS_DIFFER = timedelta(minutes=10)
"""By how much a service's clock may be ahead of ours."""

BY_PLACE = frozenset({ForecastSource.Kind.GRIDPOINT, ForecastSource.Kind.DAILY})
"""Sources that are asked by latitude and longitude."""

_FILE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,70}\.csv")


def choose_source(
    actor: Membership, site: Site, *, kind: str, file_name: str, now: datetime
) -> ForecastSource:
    """Say where a site's forecasts come from; it is asked at the next tick.

    Raises Refused for an unknown kind, a file name that could lead out of the folder, and for
    a service asked by place at a site without a longitude.
    """
    require(actor, "forecast.edit")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")
    if kind not in ForecastSource.Kind.values:
        raise Refused("Choose one of the sources.", "kind")
    if kind in BY_PLACE and site.longitude is None:
        raise Refused(
            "This site has no longitude, and a forecast service is asked by place. Type the "
            "nights, or drop a file.",
            "kind",
        )
    name = file_name.strip() if kind == ForecastSource.Kind.FILE else ""
    if kind == ForecastSource.Kind.FILE and not _FILE_NAME.fullmatch(name):
        raise Refused(
            "Give the name of a CSV file in the forecast folder, such as canal-bank.csv, without "
            "a path.",
            "file_name",
        )
    source, _ = ForecastSource.objects.update_or_create(
        site=site,
        defaults={
            "garden_id": site.garden_id,
            "kind": kind,
            "file_name": name,
            "set_by": actor.person,
            "set_at": now,
            "tried_at": None,
            "worked_at": None,
            "next_try_at": None,
            "failures": 0,
            "last_error": "",
        },
    )
    return source


def keep_issue(
    site: Site, source: str, issue: ForecastIssue, *, now: datetime, by: Person | None = None
) -> int:
    """Keep an issue night by night; returns how many nights are new.

    Nothing is changed afterwards: the same issue twice is nothing. Raises ValueError for an
    issue from the future. Nights before its own day, and over 14 ahead of it, are left out.
    """
    if issue.issued_at > now + CLOCKS_DIFFER:
        raise ValueError(
            f"The forecast says it was issued at {issue.issued_at:%H:%M on %-d %B %Y} (UTC), which "
            "has not come yet."
        )
    local = issue.issued_at.astimezone(ZoneInfo(site.time_zone))
    issued_on, compared = local.date(), local.time() < COMPARED_BEFORE
    kept = NightForecast.objects.filter(site=site, source=source, issued_at=issue.issued_at)
    known = set(kept.values_list("night", flat=True))
    rows = []
    for told in issue.nights:
        lead = (told.night - issued_on).days
        if told.night in known or not -1 <= lead <= FARTHEST:
            continue
        rows.append(
            NightForecast(
                garden_id=site.garden_id,
                site=site,
                source=source,
                issued_at=issue.issued_at,
                received_at=now,
                night=told.night,
                lead_nights=lead if compared else None,
                low_c=round(told.low_c, 2),
                low_at=told.low_at,
                wind_m_s=told.wind_m_s,
                cloud_percent=told.cloud_percent,
                dew_point_c=told.dew_point_c,
                by=by,
            )
        )
    NightForecast.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)
