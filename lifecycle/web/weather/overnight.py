"""Last night's low by one tap: what a page asks with, and where the answer goes."""

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Membership, Site
from lifecycle.permissions import can
from lifecycle.records.weather.readings import overnight_low
from lifecycle.records.weather.sensors import low_heard
from lifecycle.reminders.weather.night_forecasts import low_of
from lifecycle.web.door import attempt, enter, form_page, site_or_404, way_back
from lifecycle.web.forms.forecast import OvernightForm

ASKED_FROM, ASKED_UNTIL = time(5), time(18)


def overnight(
    member: Membership, site: Site, now: datetime, back: str = "today"
) -> dict[str, Any] | None:
    """Return what ``overnight_low.html`` shows, or None when there is nothing to ask.

    Asked from 5:00 to 18:00 on the site's clock while the low of the night is not known. What
    the site's own thermometer said stands in the field already.
    """
    local = now.astimezone(ZoneInfo(site.time_zone))
    if not (can(member, "weather.type") and ASKED_FROM <= local.time() < ASKED_UNTIL):
        return None
    night = local.date() - timedelta(1)
    if low_of(site, night) is not None:
        return None
    heard_c = _heard_c(site, night)
    return {
        "form": OvernightForm(member.person, initial={"low_c": heard_c}),
        "heard": heard_c is not None,
        "address": reverse("overnight-low", args=[member.garden.slug, site.pk]),
        "back": back,
        "site": site,
    }


def _heard_c(site: Site, night: date) -> float | None:
    low_c = low_heard(site, night)
    return None if low_c is None else round(low_c, 1)


@require_http_methods(["GET", "HEAD", "POST"])
def overnight_low_page(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Take last night's low, or ask for it."""
    member = enter(request, slug, "weather.type")
    site = site_or_404(member, pk)
    now = timezone.now()
    posted = request.method == "POST"
    way = request.POST if posted else request.GET
    back, label = way_back(way.get("back", ""), slug)
    if way.get("back") == "forecast":
        back, label = reverse("forecast", args=[slug, site.pk]), "the forecast"
    night = site.local_day(now) - timedelta(1)
    form = OvernightForm(
        member.person,
        request.POST if posted else None,
        initial={"low_c": None if posted else _heard_c(site, night)},
    )
    if posted and form.is_valid():
        low_c = form.cleaned_data["low_c"]
        if attempt(form, lambda: overnight_low(member, site, low_c, now)) is not None:
            return redirect(back)
    return form_page(
        request,
        form,
        heading=f"Last night at {site}",
        button="Save the low",
        back=back,
        back_label=label,
    )
