"""Chores: work that no plant asks for, picked from a list or made, with its coming days."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.chore_words import repeat_words
from lifecycle.care.chores import ANCHORED, anchor_of, cautions_of, days_of
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.skills import SKILLS
from lifecycle.handbook import CAUTIONS, SOURCES, STARTERS, Starter
from lifecycle.handbook.facts import MARKS
from lifecycle.models import Chore, Membership, Site, Task
from lifecycle.permissions import can
from lifecycle.records.work.chores import add_chore, add_starters, change_chore, end_chore, facts_of
from lifecycle.records.work.minding import RELATED
from lifecycle.reminders.work.chore_list import plan_site_chores
from lifecycle.reminders.work.planning import climate_of
from lifecycle.web.door import attempt, enter, first_site, form_page, garden_day, page, rows
from lifecycle.web.forms.chores import ChoreForm, StarterForm, as_typed, new_chore
from lifecycle.web.words import day_words

AHEAD = timedelta(days=800)
DAYS_SHOWN = 5
TASKS_SHOWN = 20


@dataclass(frozen=True, slots=True)
class ChoreRow:
    """One chore of the list: how often, when next, or why never."""

    chore: Chore
    often: str
    coming: str


@require_http_methods(["GET", "HEAD", "POST"])
def chores(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the garden's chores and the list to pick from; a POST adds what is ticked."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "chore.edit")
    now = timezone.now()
    form = StarterForm(member, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        site = form.cleaned_data["site"]
        ticked = request.POST.getlist("starter")
        made = attempt(form, lambda: add_starters(member, site, ticked, now=now))
        if made is not None:
            plan_site_chores(site, now=now)
            return redirect(f"{reverse('chores', args=[slug])}?added={len(made)}")
    listed = list(
        rows(Chore, member)
        .filter(ended_at__isnull=True)
        .select_related("site", "place", "plant")
        .order_by("site", "title", "pk")
    )
    dates = _dates(listed)
    context = {
        "chores": [_row(each, dates, now) for each in listed],
        "starters": _starters(listed) if can(member, "chore.edit") else [],
        "form": form,
        "bad_form": form if form.errors else None,
        "added": request.GET.get("added") if request.GET.get("added", "").isdecimal() else None,
        "today": garden_day(first_site(member.garden), now),
    }
    return page(request, "chores.html", context)


def _dates(listed: list[Chore]) -> dict[int, SiteDates | None]:
    """Return the dates of the sites that have a chore hanging on them."""
    sites = {each.site_id: each.site for each in listed if each.repeat in ANCHORED}
    return {pk: climate_of(site).dates for pk, site in sites.items()}


def _row(chore: Chore, dates: dict[int, SiteDates | None], now: datetime) -> ChoreRow:
    often = repeat_words(facts_of(chore), chore.at_time)
    return ChoreRow(chore, often, coming_words(chore, dates.get(chore.site_id), now))


def coming_words(chore: Chore, dates: SiteDates | None, now: datetime) -> str:
    """Return when a chore falls next, or why it never does."""
    facts, today = facts_of(chore), chore.site.local_day(now)
    coming = days_of(facts, today, today + AHEAD, dates)
    if coming:
        return f"Next: {day_words(coming[0].best, today)}."
    if facts.repeat in ANCHORED:
        if dates is None:
            return "It falls due once the climate of the site is known."
        if anchor_of(facts.repeat, dates) is None:
            return "The site has no hard freeze in nine years of ten, so it never falls due."
    return "No day of it is to come."


def _starters(listed: list[Chore]) -> list[dict[str, Any]]:
    """Return the list to pick from; what a site has already is named beside it."""
    have: dict[str, list[str]] = {}
    for chore in listed:
        have.setdefault(chore.starter, []).append(chore.site.name)
    return [_starter(each, have.get(each.key, [])) for each in STARTERS.values()]


def _starter(starter: Starter, sites: list[str]) -> dict[str, Any]:
    return {
        "starter": starter,
        "sites": ", ".join(sites),
        "skill": SKILLS.get(starter.skill, ""),
        "cautions": [CAUTIONS[key] for key in cautions_of(starter.key, starter.skill)],
        "source": SOURCES[starter.source],
        "mark": MARKS[starter.mark],
    }


@require_http_methods(["GET", "HEAD", "POST"])
def add_chore_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Make a chore that the list does not have."""
    member = enter(request, slug, "chore.edit")
    now = timezone.now()
    site = first_site(member.garden)
    initial = new_chore(garden_day(site, now), site)
    form = ChoreForm(member, request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: add_chore(member, form.draft(), now=now))
        if made is not None:
            plan_site_chores(made.site, now=now)
            return redirect("chore", slug, made.pk)
    return form_page(
        request,
        form,
        heading="Add a chore",
        button="Add the chore",
        back=reverse("chores", args=[slug]),
        back_label="Chores",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def chore(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show a chore, its coming days and its tasks; change or end it."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "chore.edit")
    found = get_object_or_404(
        rows(Chore, member).select_related("site", "place", "plant", "made_by", "ended_by"), pk=pk
    )
    now = timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if act == "end":
        end_chore(member, found, now=now)
        plan_site_chores(found.site, now=now)
        return redirect("chore", slug, pk)
    data = request.POST if act == "change" else None
    form = ChoreForm(member, data, chore=found, initial=as_typed(found))
    if act == "change" and form.is_valid():
        was_at = found.site
        made = attempt(form, lambda: change_chore(member, found, form.draft(), now=now))
        if made is not None:
            _plan_both(was_at, made.site, now)
            return redirect("chore", slug, pk)
    context = {
        **_facts(found, now),
        "form": form if can(member, "chore.edit") and found.ended_at is None else None,
        "bad_form": form if form.errors else None,
        "tasks": _tasks(member, found),
    }
    return page(request, "chore.html", context)


def _plan_both(was_at: Site, now_at: Site, now: datetime) -> None:
    for site in {was_at.pk: was_at, now_at.pk: now_at}.values():
        plan_site_chores(site, now=now)


def _facts(found: Chore, now: datetime) -> dict[str, Any]:
    facts, today = facts_of(found), found.site.local_day(now)
    dates = climate_of(found.site).dates if facts.repeat in ANCHORED else None
    coming: list[date] = []
    if found.ended_at is None:
        coming = [each.best for each in days_of(facts, today, today + AHEAD, dates)]
    return {
        "chore": found,
        "often": repeat_words(facts, found.at_time),
        "coming": coming_words(found, dates, now),
        "days": coming[:DAYS_SHOWN],
        "skill": SKILLS.get(found.skill, ""),
        "cautions": [CAUTIONS[key] for key in cautions_of(found.starter, found.skill)],
        "today": today,
    }


def _tasks(member: Membership, found: Chore) -> dict[str, Any]:
    """Return the last tasks of a chore, and how many were done in all."""
    own = rows(Task, member).filter(chore=found)
    shown = own.exclude(state=Task.State.WITHDRAWN).select_related(
        "assignee", "closed_by", *RELATED
    )
    counted = own.aggregate(done=Count("pk", filter=Q(state=Task.State.DONE)))
    return {"shown": list(shown.order_by("-best", "-pk")[:TASKS_SHOWN]), **counted}
