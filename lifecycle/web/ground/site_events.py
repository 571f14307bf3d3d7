"""Bad weather at a site: report it, end it, withdraw a mistake, and what to mind meanwhile."""

from datetime import date, datetime
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Membership, Site, SiteEventRow
from lifecycle.permissions import can, require
from lifecycle.records.ground.site_events import LOOK_BACK, begin, end, notices_for, withdraw
from lifecycle.web.door import attempt, enter, page, rows, site_or_404
from lifecycle.web.forms.events import EndForm, EventForm, WithdrawForm
from lifecycle.web.words import day_words

ADVICE = {
    "heat": (
        "Water early and deep, and shade plants whose fruit scalds from midday on.",
        "Look after people first: work early, drink, rest in the shade, and stop when dizzy.",
    ),
    "hail": (
        "Trim what is torn, pick what is split, and wait a week or two before judging a plant.",
        "Stay under a firm roof until the storm is over. Mind broken glass.",
    ),
    "flood": (
        "Do not eat raw what flood water touched. Discard soft fruit and leaves it reached.",
        "Flood water may carry sewage and spilled fuel: gloves and boots on, wash afterwards, and "
        "keep clear of power lines and sockets that got wet.",
        "What may be kept and when to plant again: the local health office goes first.",
    ),
}
"""What to mind while weather lasts and after it. Common practice, no source."""


@require_http_methods(["GET", "HEAD", "POST"])
def site_events(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """List the bad weather of a site, and take a report."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "weather.type")
    site = site_or_404(member, pk)
    now = timezone.now()
    today = site.local_day(now)
    data = request.POST if request.method == "POST" else None
    form = EventForm(today, data)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: begin(member, site, now=now, **form.cleaned_data))
        if made is not None:
            return redirect(_address(slug, made, saved=True))
    events = rows(SiteEventRow, member).filter(site=site).select_related("by")
    context = {
        "site": site,
        "today": today,
        "events": list(events.order_by("-began_on", "-pk")),
        "form": form,
        "bad_form": form if form.errors else None,
        "look_back": LOOK_BACK.days,
    }
    return page(request, "site_events.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def site_event(request: HttpRequest, slug: str, pk: int, event: int) -> HttpResponse:
    """Show one event with what to mind; end it, or withdraw it."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    found = get_object_or_404(
        rows(SiteEventRow, member).select_related("site", "by", "withdrawn_by"),
        pk=event,
        site=site,
    )
    now = timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if request.method == "POST":
        require(member, "weather.type")
    ending = EndForm(site.local_day(now), request.POST if act == "end" else None)
    leaving = WithdrawForm(request.POST if act == "withdraw" else None, prefix="withdraw")
    if act and _write(member, found, (ending, leaving), act, now):
        return redirect(_address(slug, found, saved=True))
    context = {
        "site": site,
        "event": found,
        "advice": ADVICE[found.weather],
        "today": site.local_day(now),
        "saved": request.GET.get("saved") == "1",
        "ending": ending,
        "leaving": leaving,
        "may_withdraw": found.by_id == member.person_id or can(member, "entry.strike_any"),
        "bad_form": next((form for form in (ending, leaving) if form.errors), None),
    }
    return page(request, "site_event.html", context)


def _write(
    member: Membership,
    found: SiteEventRow,
    asked: tuple[EndForm, WithdrawForm],
    act: str,
    now: datetime,
) -> bool:
    """Run the verb that was asked for; a refusal goes to its form."""
    ending, leaving = asked
    if act == "end" and ending.is_valid():
        return _ran(ending, lambda: end(member, found, now=now, **ending.cleaned_data))
    if act == "withdraw" and leaving.is_valid():
        return _ran(leaving, lambda: withdraw(member, found, now=now, **leaving.cleaned_data))
    return False


def _ran(form: forms.Form, verb: Any) -> bool:
    return attempt(form, verb) is not None


def _address(slug: str, event: SiteEventRow, *, saved: bool = False) -> str:
    address = reverse("site-event", args=[slug, event.site_id, event.pk])
    return f"{address}?saved=1" if saved else address


def notices(site: Site, slug: str, today: date) -> list[dict[str, Any]]:
    """Return what a page tells of weather at a site: its words, its address, what to mind."""
    return [
        {
            "words": f"{event.get_weather_display()} at {site}, {span_words(event, today)}",
            "address": _address(slug, event),
            "advice": ADVICE[event.weather],
        }
        for event in notices_for(site, today)
    ]


def span_words(event: SiteEventRow, today: date) -> str:
    """Return when weather came and went: "since 3 July", "3 to 5 July", "on 3 July"."""
    first = day_words(event.began_on, today)
    if event.ended_on is None:
        return f"since {first}"
    if event.ended_on == event.began_on:
        return f"on {first}"
    return f"{first} to {day_words(event.ended_on, today)}"
