"""Answering an ask: from its secret address without signing in, or on the frost page.

The address is single-purpose: whoever has it can answer this ask and nothing else, and reads
what the message said already. A GET changes nothing, because mail scanners follow links.
"""

from datetime import datetime
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from lifecycle.models import Ask, FrostNight, Membership, Person
from lifecycle.records.nights import asks
from lifecycle.records.nights.asks import Standing
from lifecycle.records.refusal import Refused
from lifecycle.reminders.clock import is_quiet
from lifecycle.reminders.nights.ask_words import night_path
from lifecycle.reminders.nights.asking import ask_night
from lifecycle.reminders.nights.frost_facts import frost_facts
from lifecycle.web.door import UNREADABLE, enter, refused_page, rows

_CLOSED = {
    Standing.OVER: "This night is over",
    Standing.CALLED_OFF: "Called off: nobody needs to come",
    Standing.LEFT: "This ask is no longer yours",
}


@login_not_required
# No cookie takes part: the code in the address is the right to answer, and a page elsewhere
# that does not know it can forge nothing.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def ask(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Show one ask at its secret address; a POST answers it."""
    found = asks.ask_of(pk, code)
    if found is None:
        raise Http404("There is no such page.")
    now = timezone.now()
    refusal = ""
    if request.method == "POST":
        try:
            _answer(found, request.POST, now)
            return _private(redirect(asks.ask_path(found)))
        except Refused as refused:
            refusal = str(refused)
    request.invented = found.garden.invented  # type: ignore[attr-defined]
    context = {**_page_of(found, now), "refusal": refusal}
    status = UNREADABLE if refusal else 200
    return _private(render(request, "lifecycle/ask.html", context, status=status))


@require_POST
def frost_ask(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Begin to ask the rota for tonight, now."""
    member = enter(request, slug, "frost.lead")
    night = _night_or_404(member, pk)
    now = timezone.now()
    if is_quiet(now, night.site.time_zone):
        sentence = "Nobody is asked between 21:00 and 07:00. Telephone numbers are on the page."
        return _refused(request, sentence, night)
    try:
        asks.ask_rota(member, night, now)
    except Refused as refusal:
        return _refused(request, str(refusal), night)
    ask_night(night, now=now)
    return redirect(f"{night_path(night)}#asks")


@require_POST
def frost_volunteer(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Take on tonight without waiting to be asked."""
    member = enter(request, slug, "frost.do")
    night = _night_or_404(member, pk)
    try:
        asks.volunteer(member, night, timezone.now())
    except Refused as refusal:
        return _refused(request, str(refusal), night)
    return redirect(f"{night_path(night)}#asks")


@require_POST
def frost_answer(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Answer one's own ask on the frost page, signed in."""
    member = enter(request, slug, "frost.do")
    night = _night_or_404(member, pk)
    own = night.asks.filter(person=member.person).select_related("frost_night__site", "person")
    try:
        _answer(get_object_or_404(own), request.POST, timezone.now())
    except Refused as refusal:
        return _refused(request, str(refusal), night)
    return redirect(f"{night_path(night)}#asks")


def _answer(found: Ask, given: Any, now: datetime) -> None:
    """Do what was tapped, then take the step that follows from it. Raises Refused."""
    act = given.get("act", "")
    if act == "pass":
        if is_quiet(now, found.frost_night.site.time_zone):
            raise Refused("Nobody is asked between 21:00 and 07:00. Please phone instead.")
        asks.pass_on(found, _chosen(found, given.get("to", "")), now)
    elif act in ("yes", "no"):
        asks.answer(found, act == "yes", now)
    else:
        raise Refused("This form was not understood. Load the page again.")
    ask_night(found.frost_night, now=now)


def _chosen(found: Ask, text: str) -> Person:
    """Return who was chosen from the list; of anybody else not even the name is told."""
    for person in asks.may_take_over(found):
        if str(person.pk) == text:
            return person
    raise Refused("Choose from the list who is to be asked instead of you.", "to")


def _page_of(found: Ask, now: datetime) -> dict[str, Any]:
    """Return what the page at the secret address says."""
    standing = asks.standing_of(found, now)
    night = found.frost_night
    context: dict[str, Any] = {"standing": standing, "ask": found, "night": night}
    if standing == Standing.LEFT:
        return {**context, "heading": _CLOSED[standing]}
    facts = frost_facts(night, found.person, now)
    coming = [each.person.name for each in asks.accepted(night) if each.pk != found.pk]
    is_open = standing == Standing.OPEN
    context |= {
        "heading": facts.verdict if is_open else _CLOSED[standing],
        "facts": facts,
        "coming": coming,
        "enough": len(coming) >= max(night.people_needed, 1),
        "is_open": is_open,
        "instead": asks.may_take_over(found)
        if is_open and not is_quiet(now, night.site.time_zone)
        else [],
    }
    return context


def _private(answer: HttpResponse) -> HttpResponse:
    """Keep the secret address out of logs elsewhere, of search, and of every cache."""
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    answer["Cache-Control"] = "no-store, private"
    return answer


def _night_or_404(member: Membership, pk: int) -> FrostNight:
    found = rows(FrostNight, member).select_related("site", "garden")
    return get_object_or_404(found, pk=pk)


def _refused(request: HttpRequest, sentence: str, night: FrostNight) -> HttpResponse:
    return refused_page(request, sentence, back=night_path(night), back_label="the frost night")
