"""The page of one frost night: the verdict, who goes, what to do in walking order, what came."""

from datetime import date, datetime, time, timedelta
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.frost_call import NIGHTS_AHEAD
from lifecycle.handbook import fact
from lifecycle.models import (
    FrostBed,
    FrostNight,
    GardenCover,
    Membership,
    Plant,
    Site,
)
from lifecycle.permissions import can, require
from lifecycle.records.ground.out_there import without_place
from lifecycle.records.nights import frost as record
from lifecycle.records.nights.rota import on_call
from lifecycle.records.refusal import Refused
from lifecycle.reminders.clock import wall_time
from lifecycle.reminders.nights.frost_facts import FrostFacts, frost_facts, nothing_tender_out
from lifecycle.web.door import after_write, attempt, enter, page, refused_page, rows, site_or_404
from lifecycle.web.forms.frost import HappenedForm, NotNeededForm
from lifecycle.web.nights.ask_panel import panel
from lifecycle.web.nights.frost_walk import Stop, limits_told, walk
from lifecycle.web.words import both_units, long_day

State = FrostNight.State

FIRST_LIGHT = time(5, 0)
DARK_BY = time(18, 0)
"""Where nobody knows when the sun sets."""


class Hour(StrEnum):
    """What the page is for at this hour."""

    BEFORE = "before"
    DAY = "day"
    DARK = "dark"
    MORNING = "morning"
    PAST = "past"


MARKED = frozenset({Hour.DAY, Hour.DARK, Hour.MORNING})
OPEN = frozenset({State.CALLED, State.POSSIBLE})
"""When, and in which states, places are marked."""


@require_http_methods(["GET", "HEAD", "POST"])
def frost_night(request: HttpRequest, slug: str, site: int, night: str) -> HttpResponse:
    """Show one night; take marks, decisions and what came of it."""
    member = enter(request, slug)
    ground = site_or_404(member, site)
    day = _day(night)
    found = (
        rows(FrostNight, member)
        .filter(site=ground, night=day)
        .select_related("site__garden", "forecast__by", "called_by", "dismissed_by", "outcome_by")
        .first()
    )
    now = timezone.now()
    if found is None:
        return _unknown(request, member, ground, day, now)
    data = request.POST if request.method == "POST" else None
    act = data.get("act", "") if data is not None else ""
    if data is not None:
        require(member, "frost.do")
    leaving = NotNeededForm(data if act == "not_needed" else None)
    told = HappenedForm(
        member.person,
        data if act == "happened" else None,
        initial={"lowest": found.lowest_c, "harm": found.harm},
    )
    if data is not None:
        answer = _write(request, member, found, (leaving, told), now)
        if answer is not None:
            return answer
    return page(request, "frost_night.html", _shown(request, member, found, (leaving, told), now))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Http404("There is no such night.") from None


def _write(
    request: HttpRequest,
    member: Membership,
    night: FrostNight,
    asked: tuple[NotNeededForm, HappenedForm],
    now: datetime,
) -> HttpResponse | None:
    """Run the verb that was asked for; None where its form is shown again."""
    act = request.POST.get("act", "")
    leaving, told = asked
    if act in ("mark", "uncover", "undo_uncover"):
        return _mark(request, member, night, act, now)
    if act == "call":
        return _tried(
            request,
            lambda: record.call_by_hand(member, night, now=now),
            f"{request.path}?saved=called",
        )
    if act == "not_needed":
        require(member, "frost.lead")
        done = _ran(
            leaving,
            lambda: record.not_needed(member, night, leaving.cleaned_data["why"], now=now),
        )
        return redirect(f"{request.path}?saved=not_needed") if done else None
    if act == "happened":
        done = _ran(
            told,
            lambda: record.what_happened(
                member, night, told.cleaned_data["lowest"], told.cleaned_data["harm"], now=now
            ),
        )
        return redirect(f"{request.path}?saved=happened#happened") if done else None
    return refused_page(
        request,
        "There is no such button. Load the page again.",
        back=request.path,
        back_label="the night",
    )


def _ran(form: forms.Form, verb: Any) -> bool:
    return form.is_valid() and attempt(form, verb) is not None


def _tried(request: HttpRequest, verb: Any, then: str) -> HttpResponse:
    try:
        verb()
    except Refused as problem:
        return refused_page(request, str(problem), back=request.path, back_label="the night")
    return redirect(then)


def _mark(
    request: HttpRequest, member: Membership, night: FrostNight, act: str, now: datetime
) -> HttpResponse:
    text = request.POST.get("bed", "")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    bed = get_object_or_404(rows(FrostBed, member), pk=number, frost_night=night)

    def verb() -> None:
        changed: list[Plant]
        if act == "mark":
            changed = record.mark(member, bed, request.POST.get("mark", ""), now=now)
        elif act == "uncover":
            changed = record.uncover(member, bed, now=now)
        else:
            changed = record.undo_uncover(member, bed, now=now)
        after_write(changed, now)

    return _tried(request, verb, f"{request.path}?bed={bed.pk}#bed-{bed.pk}")


def _shown(
    request: HttpRequest,
    member: Membership,
    night: FrostNight,
    asked: tuple[NotNeededForm, HappenedForm],
    now: datetime,
) -> dict[str, Any]:
    person, site = member.person, night.site
    covers = list(rows(GardenCover, member).filter(site=site))
    kept = {each.protection: each.kept_in for each in reversed(covers)}
    hour = hour_of(night, now)
    facts = frost_facts(night, person, now)
    leaving, told = asked
    stops = walk(night, person, kept, past=hour is Hour.PAST)
    marked = any(stop.bed.mark for stop in stops)
    return {
        "site": site,
        "night": night,
        "today": site.local_day(now),
        "facts": facts,
        "heading": heading(night, facts, member, hour, stops),
        "hour": hour.value,
        "stops": stops,
        "limits": limits_told(stops),
        "covered": [stop for stop in stops if stop.bed.mark == FrostBed.Mark.DONE],
        "saved": _saved(request, stops),
        "markable": hour in MARKED and (night.state in OPEN or marked),
        "uncover_from": f"{{{fact('frost_work.uncover_above').si:g} C}}",
        "no_covers": not covers,
        "homeless": without_place(site) if hour is not Hour.PAST else 0,
        "leaving": leaving,
        "told": told,
        "bad_form": next((form for form in (leaving, told) if form.errors), None),
        "may_do": can(member, "frost.do"),
        "deciding": can(member, "frost.lead") and hour in (Hour.BEFORE, Hour.DAY, Hour.DARK),
        "phones": _phones(night) if can(member, "frost.lead") else [],
        "asks": panel(member, night, now),
    }


def hour_of(night: FrostNight, now: datetime) -> Hour:
    """Return what the page is for: before its day, by day, after dusk, next morning, past."""
    site = night.site
    local = now.astimezone(ZoneInfo(site.time_zone))
    if local.date() < night.night:
        return Hour.BEFORE
    if night.state == State.OVER or local.date() > night.night + timedelta(1):
        return Hour.PAST
    if local.date() > night.night:
        return Hour.MORNING if local.time() >= FIRST_LIGHT else Hour.DARK
    dusk = night.sunset_at or wall_time(night.night, DARK_BY, site.time_zone)
    return Hour.DARK if now >= dusk else Hour.DAY


def heading(
    night: FrostNight, facts: FrostFacts, member: Membership, hour: Hour, stops: list[Stop]
) -> str:
    """Return the verdict of a night, whatever its state."""
    if hour in (Hour.PAST, Hour.MORNING):
        return _looking_back(night, member, hour, stops)
    when = f"on {long_day(night.night)}" if hour is Hour.BEFORE else "tonight"
    if night.state == State.NOT_NEEDED:
        return f"Not needed {when}, says {night.dismissed_by}"
    if night.state == State.CANCELLED:
        bare = nothing_tender_out(night)
        return f"Called off {when}: {'nothing tender is out' if bare else 'it stays warmer'}"
    if night.stale and night.state != State.CALLED:
        return f"The forecast is old: what comes {when} is not known"
    if night.state == State.QUIET:
        return f"No frost to fear {when}"
    if night.called_by_id and not facts.work:
        return f"Called {when} by {night.called_by}"
    return facts.verdict


def _looking_back(night: FrostNight, member: Membership, hour: Hour, stops: list[Stop]) -> str:
    still = [stop for stop in stops if stop.bed.mark == FrostBed.Mark.DONE]
    if hour is Hour.MORNING and any(stop.bed.uncovered_at is None for stop in still):
        return "Uncover now, and say what happened"
    day = long_day(night.night)
    if night.lowest_c is not None:
        return f"The night of {day}: lowest {both_units(night.lowest_c, member.person)}"
    if hour is Hour.MORNING:
        return f"The night of {day}: say what happened"
    return f"The night of {day}: nobody has said how cold it was"


def _saved(request: HttpRequest, stops: list[Stop]) -> dict[str, Any] | None:
    """Return what the page says after a write: words, and the stop whose mark may be undone."""
    words = {
        "called": "Called. People on call are asked from now on.",
        "not_needed": "Saved. Nobody is asked for this night any more.",
        "happened": "Saved. Thank you: the record learns from it.",
    }.get(request.GET.get("saved", ""))
    if words:
        return {"words": words, "stop": None}
    number = request.GET.get("bed", "")
    for stop in stops:
        if str(stop.bed.pk) == number:
            return {"words": "", "stop": stop}
    return None


def _phones(night: FrostNight) -> list[tuple[str, str]]:
    """Return who is on call that night and their telephone, for the coordinator's paper."""
    turns = on_call(night.site, night.night)
    return [(turn.person.name, turn.person.phone) for turn in turns]


def _unknown(
    request: HttpRequest, member: Membership, site: Site, day: date, now: datetime
) -> HttpResponse:
    """Say that nothing is known of a coming night; other days have no page."""
    today = site.local_day(now)
    if request.method == "POST" or not today <= day <= today + timedelta(NIGHTS_AHEAD):
        raise Http404("There is no such night.")
    context = {
        "site": site,
        "when": "tonight" if day == today else f"on {long_day(day)}",
        "back": reverse("frost", args=[member.garden.slug]),
    }
    return page(request, "frost_unknown.html", context)
