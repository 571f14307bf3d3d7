"""Harvest given away: log it, list it by growing year, take a mistake back."""

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.handbook import CAUTIONS, CROPS
from lifecycle.models import GivenAway, Membership
from lifecycle.permissions import can
from lifecycle.records.year.giving import give, grams_by_receiver, may_strike_given, strike_given
from lifecycle.records.year.report_years import EARLIEST_YEAR, years_of
from lifecycle.web.door import attempt, enter, number_in, page, rows
from lifecycle.web.forms.giving import GivenForm
from lifecycle.web.year.amounts import weight

SHOWN = 200


@require_http_methods(["GET", "HEAD", "POST"])
def given_away(request: HttpRequest, slug: str) -> HttpResponse:
    """List what was given away in a growing year with its totals, and log more."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "harvest.give")
    now = timezone.now()
    if request.POST.get("act") == "strike":
        return _strike(request, member)
    calendar = years_of(member.garden)
    today = calendar.local_day(now)
    form = GivenForm(member, today, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: give(member, now=now, **form.cleaned_data))
        if made is not None:
            return redirect(f"{request.path}?saved=1")
    year = number_in(request, "year", EARLIEST_YEAR, today.year) or calendar.year_of(today)
    span = calendar.span(year)
    found = rows(GivenAway, member).filter(given_on__range=(span.first, span.last))
    totals = grams_by_receiver(found)
    listed = list(found.select_related("by", "site")[: SHOWN + 1])
    context = {
        "heading": _heading(sum(totals.values()), member, year),
        "days": span.words(),
        "totals": [
            (GivenAway.To(to).label, weight(grams, member.person)) for to, grams in totals.items()
        ],
        "listed": [_row(each, member) for each in listed[:SHOWN]],
        "cut": len(listed) > SHOWN,
        "shown": SHOWN,
        "before": year - 1 if _anything_before(member, span.first) else None,
        "after": year + 1 if span.last < today else None,
        "form": form if can(member, "harvest.give") and calendar.site else None,
        "bad_form": form if form.errors else None,
        "cautions": [CAUTIONS["given_food"]],
        "saved": request.GET.get("saved") == "1",
        "today": today,
    }
    return page(request, "given_away.html", context)


def _heading(grams: int, member: Membership, year: int) -> str:
    if not grams:
        return f"No harvest given away in growing year {year}"
    return f"{weight(grams, member.person)} of harvest given away in growing year {year}"


def _row(each: GivenAway, member: Membership) -> dict[str, Any]:
    return {
        "given": each,
        "weight": weight(each.grams, member.person),
        "what": CROPS[each.species].label if each.species in CROPS else "Mixed harvest",
        "may_strike": each.struck_at is None and may_strike_given(member, each),
    }


def _anything_before(member: Membership, first: date) -> bool:
    return rows(GivenAway, member).filter(given_on__lt=first).exists()


def _strike(request: HttpRequest, member: Membership) -> HttpResponse:
    text = request.POST.get("given", "")
    pk = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    found = get_object_or_404(rows(GivenAway, member), pk=pk)
    strike_given(member, found, now=timezone.now())
    return redirect(request.get_full_path())
