"""Handing over: propose it for a plant, a sowing or a whole bed, and see it through."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.models import HandOver, Membership, Person
from lifecycle.permissions import can
from lifecycle.records.people import handing
from lifecycle.records.people.handing_load import Load, bed_load, giver_of, load_of, people_in_bed
from lifecycle.records.people.handing_rows import day_at, site_of_load
from lifecycle.records.refusal import Refused
from lifecycle.reminders.people.handing import tell
from lifecycle.reminders.people.handing_words import (
    passing_words,
    sentence,
    standing_words,
    with_items,
)
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    first_site,
    form_page,
    garden_day,
    number_in,
    page,
    place_or_404,
    plant_or_404,
    record_url,
    refused_page,
    rows,
    sowing_or_404,
)
from lifecycle.web.forms.handing import DeclineForm, HandOverForm, WhoseForm
from lifecycle.web.people.handing_ahead import OPEN, lead_words, waiting_hand_over

SETTLED_SHOWN = 20
State = HandOver.State


@require_http_methods(["GET", "HEAD", "POST"])
def hand_over_plant(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Propose that somebody else looks after a plant."""
    member = enter(request, slug, "plant.hand_over")
    found = plant_or_404(member, code)
    return _propose(
        request, member, load_of(found), giver_of(found), str(found), record_url(found, slug)
    )


@require_http_methods(["GET", "HEAD", "POST"])
def hand_over_sowing(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Propose that somebody else looks after a sowing."""
    member = enter(request, slug, "plant.hand_over")
    found = sowing_or_404(member, code)
    return _propose(
        request, member, load_of(found), giver_of(found), str(found), record_url(found, slug)
    )


@require_http_methods(["GET", "HEAD", "POST"])
def hand_over_bed(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Propose that somebody else takes a whole bed; coordinators choose whose part of it."""
    member = enter(request, slug, "plant.hand_over")
    place = place_or_404(member, pk)
    giver: Person | None = member.person
    choosing: WhoseForm | None = None
    if can(member, "hand_over.lead"):
        people = people_in_bed(place)
        choosing = WhoseForm(people, initial={"whose": number_in(request, "whose", 0)})
        giver = _whose(request, people, member.person)
    back = reverse("bed", args=[slug, place.pk])
    return _propose(
        request, member, bed_load(place, giver), giver, str(place), back, choosing=choosing
    )


def _whose(request: HttpRequest, people: list[Person], reader: Person) -> Person | None:
    wanted = number_in(request, "whose", 0)
    if wanted is None:
        mine = [each for each in people if each.pk == reader.pk]
        return next(iter([*mine, *people]), None)
    return next((each for each in people if each.pk == wanted), None)


def _propose(
    request: HttpRequest,
    member: Membership,
    load: Load,
    giver: Person | None,
    name: str,
    back: str,
    *,
    choosing: WhoseForm | None = None,
) -> HttpResponse:
    """Show and take a proposal."""
    now = timezone.now()
    today = garden_day(first_site(member.garden), now) if load.empty else _today(load, now)
    data = request.POST if request.method == "POST" else None
    form = HandOverForm(member, giver, today, data)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: _made(member, load, giver, form, now))
        if made is not None:
            if made.state == State.DONE:
                after_write(load.records, now)
            return redirect("hand-over-page", member.garden.slug, made.pk)
    return form_page(
        request,
        form,
        heading=f"Hand over: {name}",
        lead=lead_words(load, giver, member),
        waiting=waiting_hand_over(member, load),
        around=today,
        button="Propose the hand-over",
        back=back,
        back_label=name,
        template="hand_over.html",
        choosing=choosing,
        empty=load.empty,
    )


def _today(load: Load, now: datetime) -> Any:
    return site_of_load(load).local_day(now)


def _made(
    member: Membership, load: Load, giver: Person | None, form: HandOverForm, now: datetime
) -> HandOver:
    typed = form.cleaned_data
    given = {
        "giver": giver,
        "to": typed["to"],
        "uuid": typed["uuid"],
        "note": typed["note"],
        "now": now,
    }
    if form.agreed:
        made = handing.record_agreed(member, load, happened_on=typed["from_day"], **given)
    else:
        made = handing.propose(member, load, from_day=typed["from_day"], **given)
    tell(made, now=now)
    return made


@require_safe
def hand_overs(request: HttpRequest, slug: str) -> HttpResponse:
    """List the hand-overs that wait for somebody, and those settled lately."""
    member = enter(request, slug)
    today = garden_day(first_site(member.garden), timezone.now())
    found = with_items(rows(HandOver, member))
    ahead = list(found.filter(state__in=OPEN).order_by("from_day", "pk"))
    mine, yours, others = [], [], []
    for each in ahead:
        words = (each, passing_words(each, today), standing_words(each, today, member.person))
        if each.to_id == member.person_id and each.state == State.PROPOSED:
            mine.append(words)
        elif member.person_id in (each.by_id, each.giver_id, each.to_id):
            yours.append(words)
        else:
            others.append(words)
    settled = found.exclude(state__in=OPEN)[:SETTLED_SHOWN]
    context = {
        "mine": mine,
        "yours": yours,
        "others": others,
        "settled": [
            (each, passing_words(each, today), standing_words(each, today, member.person))
            for each in settled
        ],
    }
    return page(request, "hand_overs.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def hand_over_page(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show one hand-over; its receiver answers, its giver or a coordinator takes it back."""
    member = enter(request, slug, "plant.hand_over" if request.method == "POST" else "garden.read")
    found = get_object_or_404(with_items(rows(HandOver, member)), pk=pk)
    now = timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    declining = DeclineForm(request.POST if act == "decline" else None)
    if act == "decline" and declining.is_valid():
        why = declining.cleaned_data["why"]
        done = attempt(declining, lambda: _told(handing.decline(member, found, why, now=now), now))
        if done is not None:
            return redirect("hand-over-page", slug, pk)
    elif act in _VERBS:
        return _act(request, member, found, _VERBS[act], now)
    today = day_at(found, now)
    return page(
        request,
        "hand_over_page.html",
        {
            "hand_over": found,
            "sentence": sentence(found, today),
            "standing": standing_words(found, today, member.person),
            "items": [
                (item, record_url(thing, slug) if (thing := item.plant or item.sowing) else "")
                for item in found.items.all()
            ],
            "declining": declining,
            "bad_form": declining if declining.errors else None,
            **_may(member, found),
        },
    )


Verb = Callable[..., HandOver]
_VERBS: dict[str, Verb] = {
    "accept": handing.accept,
    "accept_for": handing.accept_for,
    "cancel": handing.cancel,
}


def _may(member: Membership, found: HandOver) -> dict[str, bool]:
    """Return what the reader can do about a hand-over as it stands."""
    if not can(member, "plant.hand_over"):
        return {}
    waits = found.state == State.PROPOSED
    leads = can(member, "hand_over.lead")
    own = member.person_id in (found.by_id, found.giver_id)
    receiver = found.to_id == member.person_id
    return {
        "answers": waits and receiver,
        "accepts_for": waits and leads and not receiver,
        "takes_back": (waits and (own or leads)) or (found.state == State.ACCEPTED and leads),
    }


def _act(
    request: HttpRequest, member: Membership, found: HandOver, verb: Verb, now: datetime
) -> HttpResponse:
    here = reverse("hand-over-page", args=[member.garden.slug, found.pk])
    try:
        with transaction.atomic():
            done = _told(verb(member, found, now=now), now)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=here, back_label="the hand-over")
    if done.state == State.DONE:
        items = found.items.all()
        after_write([thing for item in items if (thing := item.plant or item.sowing)], now)
    return redirect(here)


def _told(hand_over: HandOver, now: datetime) -> HandOver:
    tell(hand_over, now=now)
    return hand_over
