"""A site's climate: which basis is in use and what else is known, side by side."""

from datetime import date, datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.agronomy.climate_summary import ClimateSummary
from lifecycle.agronomy.freeze import DECILES, FreezeDates
from lifecycle.care.readiness import readiness
from lifecycle.care.site_dates import PEPPER_NIGHTS
from lifecycle.models import Membership, Site
from lifecycle.permissions import require
from lifecycle.records.weather.weather import add_record, type_climate, type_seven_nights
from lifecycle.reminders.work.planning import ClimateInUse, climate_of
from lifecycle.reminders.work.worklist import refresh_site
from lifecycle.web import charts
from lifecycle.web.door import attempt, enter, page, site_or_404
from lifecycle.web.forms.climate import RecordForm, SevenNightsForm, TypedForm, nights_typed
from lifecycle.web.words import both_units, day_words, month_day_words

_TYPED = ("last_freeze", "first_freeze", "warm_from", "cool_from", "half_zone", "zone_source")
Forms = tuple[RecordForm, TypedForm, SevenNightsForm]


@require_http_methods(["GET", "HEAD", "POST"])
def climate(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show a site's climate, and take a station's file, typed dates or seven nights."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    now = timezone.now()
    today = site.local_day(now)
    known = climate_of(site)
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if request.method == "POST":
        require(member, "weather.type" if act == "nights" else "weather.add")
    forms = _forms(request, member, known, act, today)
    if act and _write(member, site, forms, act, now):
        refresh_site(site, now=now)
        return redirect(f"{request.path}?saved=1")
    record_form, typed_form, nights_form = forms
    context = {
        "site": site,
        "known": known,
        "today": today,
        "saved": request.GET.get("saved") == "1",
        "record_form": record_form,
        "typed_form": typed_form,
        "nights_form": nights_form,
        "bad_form": next((form for form in forms if form.errors), None),
        "verdict": _verdict(known, today),
        "typed_rows": _typed_rows(known),
        **(_computed(known.summary, site, today, member) if known.summary else {}),
    }
    return page(request, "climate.html", context)


def _forms(
    request: HttpRequest, member: Membership, known: ClimateInUse, act: str, today: date
) -> Forms:
    def sent(name: str) -> Any:
        return request.POST if act == name else None

    typed = {name: getattr(known.typed, name) for name in _TYPED} if known.typed else None
    nights = nights_typed(known.nights.first, known.nights.lows_c) if known.nights else None
    if nights is not None and nights["first_night"] < today:
        nights = None
    return (
        RecordForm(sent("record"), request.FILES if act == "record" else None, prefix="record"),
        TypedForm(sent("typed"), initial=typed, prefix="typed"),
        SevenNightsForm(
            member.person.temperature, today, sent("nights"), initial=nights, prefix="nights"
        ),
    )


def _write(member: Membership, site: Site, forms: Forms, act: str, now: datetime) -> bool:
    """Run the one verb that was asked for; a refusal goes to its form."""
    record, typed, nights = forms
    if act == "record" and record.is_valid():
        given = record.cleaned_data
        name = given["name"] or given["file"].name
        attempt(
            record,
            lambda: add_record(
                member,
                site,
                name=name,
                data=given["file"].read(),
                units=given["units"] or None,
                now=now,
            ),
        )
        return not record.errors
    if act == "typed" and typed.is_valid():
        attempt(typed, lambda: type_climate(member, site, **typed.cleaned_data))
        return not typed.errors
    if act == "nights" and nights.is_valid():
        first = nights.cleaned_data["first_night"]
        attempt(
            nights,
            lambda: type_seven_nights(
                member, site, first_night=first, lows_c=nights.lows_c(), now=now
            ),
        )
        return not nights.errors
    return False


def _verdict(known: ClimateInUse, today: date) -> dict[str, Any] | None:
    """Return what the seven typed nights say about planting out, unless they are past."""
    if known.nights is None or not known.nights.still_ahead(today):
        return None
    wanted = known.dates.planting_nights if known.dates else PEPPER_NIGHTS
    judged = readiness(known.nights.lows_c, wanted.ready_c, wanted.allowed_c)
    return {"judged": judged, "first": known.nights.first, "last": known.nights.last}


def _typed_rows(known: ClimateInUse) -> list[tuple[str, str]]:
    if known.typed is None:
        return []
    labels = TypedForm.base_fields
    found = []
    for name in _TYPED:
        value = getattr(known.typed, name)
        shown = month_day_words(value) if name.endswith(("freeze", "from")) else value
        found.append((str(labels[name].label), shown or "not given"))
    return found


def _computed(
    summary: ClimateSummary, site: Site, today: date, member: Membership
) -> dict[str, Any]:
    zone = summary.zone
    span = zone.zone_range()
    return {
        "zone": zone,
        "zone_mean": both_units(zone.mean_extreme_min_c, member.person)
        if zone.mean_extreme_min_c is not None
        else "",
        "zone_span": f"{span[0]} to {span[1]}" if span and span[0] != span[1] else "",
        "deciles": DECILES,
        "freeze_rows": [_freeze_rows(dates) for dates in summary.freeze.values()],
        "freeze_chart": charts.freeze_chart(summary, site.year_starts_in),
        "nights_rows": _nights_rows(summary, member),
        "month_rows": _month_rows(summary, site, member),
        "nights_chart": charts.nights_chart(summary, site.year_starts_in, today)
        if any(value is not None for value in summary.curve_c)
        else None,
        "record_span": f"{day_words(summary.record.first)} to {day_words(summary.record.last)}",
    }


def _freeze_rows(dates: FreezeDates) -> dict[str, Any]:
    sides = (("Last freeze", dates.spring), ("First freeze", dates.autumn))
    return {
        "limit": dates.threshold_f,
        "limit_c": f"{(dates.threshold_f - 32) / 1.8:.1f}".replace("-", "−"),
        "years": dates.years,
        "sides": [
            {
                "name": name,
                "share": "" if side.share is None else f"{side.share * 100:.0f} %",
                "cells": [
                    {
                        "share": percent,
                        "day": month_day_words(side.dates[percent] or ""),
                        "thin": bool(side.dates[percent]) and not dates.enough(percent),
                    }
                    for percent in DECILES
                ],
            }
            for name, side in sides
        ],
    }


def _nights_rows(summary: ClimateSummary, member: Membership) -> list[dict[str, str]]:
    return [
        {
            "limit": both_units((limit - 32) / 1.8, member.person),
            "start": month_day_words(nights.start or ""),
            "end": month_day_words(nights.end or ""),
            "risk": "no such date"
            if nights.risk10 == "never"
            else month_day_words(nights.risk10 or ""),
        }
        for limit, nights in summary.warm_nights.items()
    ]


def _month_rows(summary: ClimateSummary, site: Site, member: Membership) -> list[tuple[str, str]]:
    """Return the curve as a table: the mean night low in the middle of each month."""
    found = []
    for offset in range(12):
        middle = date(2001, (site.year_starts_in - 1 + offset) % 12 + 1, 15)
        value = summary.curve_c[middle.timetuple().tm_yday - 1]
        shown = "not known" if value is None else both_units(value, member.person)
        found.append((f"{middle:%B}", shown))
    return found
