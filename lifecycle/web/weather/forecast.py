"""What is told of the coming nights at a site, where it comes from, and how right it was."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.agronomy.forecast_errors import PAIRS_NEEDED
from lifecycle.care.wording import degrees
from lifecycle.models import (
    ForecastSource,
    Membership,
    NightForecast,
    Person,
    SensorAddress,
    Site,
)
from lifecycle.permissions import can, require
from lifecycle.records.secrets import code_for
from lifecycle.records.weather.forecast_age import stale
from lifecycle.records.weather.forecasts import choose_source
from lifecycle.records.weather.sensors import PURPOSE, new_address
from lifecycle.reminders.weather.night_forecasts import (
    CREDITS,
    WEEK,
    Credit,
    Kind,
    newest_of_each,
)
from lifecycle.web.door import attempt, enter, page, rows, site_or_404
from lifecycle.web.forms.forecast import SourceForm
from lifecycle.web.weather.forecast_rows import skill_rows, told_table
from lifecycle.web.weather.overnight import overnight
from lifecycle.web.words import counted

OVER_BY = time(6)
"""From this hour on, tonight is the coming night and no longer the one under way."""


@require_http_methods(["GET", "HEAD", "POST"])
def forecast(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show the coming nights as told; take a choice of source and make a sensor's address."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    now = timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if request.method == "POST":
        require(member, "forecast.edit")
    source = rows(ForecastSource, member).filter(site=site).first()
    form = SourceForm(request.POST if act == "source" else None, initial=_chosen(source))
    if act == "sensor":
        new_address(member, site, now=now)
        return redirect(f"{request.path}#sensor")
    if act == "source" and form.is_valid():
        given = form.cleaned_data
        attempt(form, lambda: choose_source(member, site, **given, now=now))
        if not form.errors:
            return redirect(f"{request.path}#source")
    told = _told(site, now)
    tonight = next((row for row in told if row.night == _tonight(site, now)), None)
    context = {
        "site": site,
        "today": site.local_day(now),
        "heading": _heading(site, tonight, now, member.person),
        "old": tonight is not None and stale(tonight, now),
        **told_table(site, told, member.person),
        "credits": _credits(told),
        "source": source,
        "source_form": form,
        "bad_form": form if form.errors else None,
        "skill": skill_rows(site, member.person, now),
        "needed": PAIRS_NEEDED,
        "overnight": overnight(member, site, now, back="forecast"),
        "sensor": _sensor(member, site),
    }
    return page(request, "forecast.html", context)


def _chosen(source: ForecastSource | None) -> dict[str, str]:
    if source is None:
        return {"kind": Kind.TYPED.value}
    return {"kind": source.kind, "file_name": source.file_name}


def _tonight(site: Site, now: datetime) -> date:
    """Return the night that is under way, or the one of this evening."""
    local = now.astimezone(ZoneInfo(site.time_zone))
    return local.date() - timedelta(1) if local.time() < OVER_BY else local.date()


def _told(site: Site, now: datetime) -> list[NightForecast]:
    """Return the newest issue of each night from tonight on."""
    tonight = _tonight(site, now)
    coming = newest_of_each(site, now).filter(night__range=(tonight, tonight + timedelta(WEEK)))
    return list(coming.select_related("by", "site__forecast_source").order_by("night"))


def _heading(site: Site, tonight: NightForecast | None, now: datetime, person: Person) -> str:
    if tonight is None:
        return f"No forecast for tonight at {site}"
    low = f"a low of {degrees(tonight.low_c, person.temperature)}"
    if not stale(tonight, now):
        return f"Tonight at {site}: {low}"
    hours = int((now - tonight.issued_at) / timedelta(hours=1))
    return f"Tonight at {site}: {low}, told {counted(hours, 'hour')} ago"


def _credits(told: Sequence[NightForecast]) -> list[Credit]:
    """Return the services among the sources, each once."""
    named = (CREDITS[kind] for kind in dict.fromkeys(row.source for row in told))
    return [credit for credit in named if credit.terms]


def _sensor(member: Membership, site: Site) -> dict[str, Any] | None:
    """Return a thermometer's address for those who may see it; the secret for nobody else."""
    address = rows(SensorAddress, member).filter(site=site).first()
    if address is None:
        return None
    shown = {"heard_at": address.heard_at, "url": ""}
    if can(member, "forecast.edit"):
        code = code_for(PURPOSE, address.pk, address.nonce)
        shown["url"] = settings.SITE_URL + reverse("sensor", args=[address.pk, code])
    return shown
