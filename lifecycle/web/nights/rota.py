"""The rota: who is on call on frost nights, week by week, and where nobody is."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Membership, OnCallTurn, Site
from lifecycle.permissions import can
from lifecycle.records.nights.rota import Stretch, change, gaps, join, leave, turns_at
from lifecycle.records.nights.rota_days import Away, days_away, days_served
from lifecycle.records.refusal import Refused
from lifecycle.records.work.away import away_on
from lifecycle.web.door import attempt, enter, first_site, garden_day, page, refused_page, rows
from lifecycle.web.forms.rota import WAKES_HINT, ChangeTurnForm, TurnForm

WEEKS = 5
"""This week and the next four."""


@dataclass(frozen=True, slots=True)
class TurnRow:
    """A turn in one week: which days of it, "" for all, and on which its person is away."""

    turn: OnCallTurn
    days: str
    away: str
    there: bool


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from a Monday at one site: who is on call, and which days have nobody."""

    days: str
    turns: list[TurnRow]
    gaps: list[str]


@dataclass(frozen=True, slots=True)
class SiteRota:
    """The weeks of one site, this one first."""

    site: Site
    weeks: list[Week]


@require_http_methods(["GET", "HEAD", "POST"])
def rota(request: HttpRequest, slug: str) -> HttpResponse:
    """Show who is on call; a POST takes a turn."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "rota.join")
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    form = TurnForm(
        member,
        today,
        leads=can(member, "rota.edit"),
        data=request.POST if request.method == "POST" else None,
    )
    if request.method == "POST" and form.is_valid():
        attempt(form, lambda: join(member, now=now, **form.cleaned_data))
        if not form.errors:
            return redirect(f"{reverse('rota', args=[slug])}?saved=1")
    week = timedelta(7)
    away = away_on(member.garden_id, today - week, today + (WEEKS + 1) * week)
    sites = [
        site_rota(site, site.local_day(now), away) for site in rows(Site, member).order_by("pk")
    ]
    context = {
        "heading": _verdict(sites),
        "sites": sites,
        "form": form,
        "bad_form": form if form.errors else None,
        "wakes_rule": WAKES_HINT,
        "today": today,
        "saved": request.GET.get("saved") == "1",
        "own": member.person_id,
    }
    return page(request, "rota.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def turn(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Change or end one turn: one's own, or anybody's for a coordinator."""
    member = enter(request, slug, "rota.join")
    found = get_object_or_404(rows(OnCallTurn, member).select_related("site", "person"), pk=pk)
    own = found.person_id == member.person_id
    if not own:
        enter(request, slug, "rota.edit")
    act = request.POST.get("act", "") if request.method == "POST" else ""
    now = timezone.now()
    back = reverse("rota", args=[slug])
    if act == "leave":
        return _leave(request, member, found, back, now)
    form = ChangeTurnForm(
        found,
        own=own,
        leads=can(member, "rota.edit"),
        data=request.POST if request.method == "POST" else None,
    )
    if request.method == "POST" and form.is_valid():
        given = {"wakes": found.wakes, **form.cleaned_data}
        attempt(form, lambda: change(member, found, now=now, **given))
        if not form.errors:
            return redirect(f"{back}?saved=1")
    context = {
        "turn": found,
        "days": Stretch(found.first_day, found.last_day).words(found.site.local_day(now)),
        "form": form,
        "bad_form": form if form.errors else None,
        "own_turn": own,
    }
    return page(request, "rota_turn.html", context)


def site_rota(site: Site, today: date, away: Away) -> SiteRota:
    """Return this week and the next four at one site. One query."""
    monday = today - timedelta(today.weekday())
    last = monday + timedelta(7 * WEEKS - 1)
    turns = list(turns_at(site, monday, last))
    weeks = [_week(turns, monday + timedelta(7 * number), today, away) for number in range(WEEKS)]
    return SiteRota(site, weeks)


def _week(turns: list[OnCallTurn], monday: date, today: date, away: Away) -> Week:
    sunday = monday + timedelta(6)
    within = [each for each in turns if each.first_day <= sunday and each.last_day >= monday]
    # Days of this week that are over need nobody any more.
    first = max(monday, today)
    return Week(
        Stretch(monday, sunday).words(today),
        [_turn_row(each, Stretch(monday, sunday), today, away) for each in within],
        [stretch.words(today) for stretch in gaps(days_served(within, away), first, sunday)],
    )


def _turn_row(each: OnCallTurn, week: Stretch, today: date, away: Away) -> TurnRow:
    missed = days_away(each, week, away)
    served = Stretch(max(each.first_day, week.first_day), min(each.last_day, week.last_day))
    return TurnRow(
        each,
        _days_within(each, week.first_day, week.last_day, today),
        ", ".join(stretch.words(today) for stretch in missed),
        there=gaps(days_served([each], away), served.first_day, served.last_day) != [served],
    )


def _days_within(each: OnCallTurn, monday: date, sunday: date, today: date) -> str:
    """Return which days of the week a turn covers; "" for all of it."""
    if each.first_day <= monday and each.last_day >= sunday:
        return ""
    return Stretch(max(each.first_day, monday), min(each.last_day, sunday)).words(today)


def _verdict(sites: list[SiteRota]) -> str:
    """Return who is on call this week, or that nobody is; who is away all their days is not."""
    names = dict.fromkeys(
        str(each.turn.person) for rota in sites for each in rota.weeks[0].turns if each.there
    )
    if not names:
        return "Nobody is on call this week"
    return f"On call this week: {', '.join(names)}"


def _leave(
    request: HttpRequest, member: Membership, found: OnCallTurn, back: str, now: datetime
) -> HttpResponse:
    try:
        leave(member, found, now=now)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label="the rota")
    return redirect(f"{back}?saved=1")
