"""Beds and other places: who stands there, and one act for many of them."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Count, IntegerField, OuterRef, Subquery, Value
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from lifecycle.care.bed_rules import in_words
from lifecycle.life.kinds import RULES, Kind, KindRule
from lifecycle.life.phases import OUTSIDE, Phase
from lifecycle.models import Membership, Place, Plant, Sowing
from lifecycle.permissions import can
from lifecycle.records.crops.entries import log_for_several
from lifecycle.records.ground.bed_rules import as_rules
from lifecycle.records.ground.gardens import add_place, add_site
from lifecycle.records.ground.holdings import holders_of
from lifecycle.records.ground.inspections import notices_for
from lifecycle.reminders.work.bed_planning import bed_report
from lifecycle.reminders.work.planning import climate_of
from lifecycle.web.crops.buttons import act_id, cautions_of, due_acts, one_tap
from lifecycle.web.crops.records import form_number, saved_several
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    first_site,
    form_page,
    garden_day,
    page,
    place_or_404,
    refused_page,
    rows,
)
from lifecycle.web.forms.entries import EntryForm
from lifecycle.web.forms.gardens import PlaceForm, SiteForm
from lifecycle.web.ground.bed_words import care_of
from lifecycle.web.words import counted
from lifecycle.web.work.groups import grouped, minded
from lifecycle.web.work.today import with_last_entry

FIRST_FOR_SEVERAL = 4
_ORDER = (
    Kind.WATERED,
    Kind.FED,
    Kind.PICKED,
    Kind.COVERED,
    Kind.UNCOVERED,
    Kind.WINTER_CHECK,
    Kind.PEST_CHECK,
    Kind.CUT_BACK,
    Kind.LIFTED,
    Kind.WINTER_QUARTERS,
)


@require_safe
def beds(request: HttpRequest, slug: str) -> HttpResponse:
    """List the garden's places in walking order, the reader's own first, and who holds each."""
    member = enter(request, slug)
    living = (
        Plant.objects.filter(place=OuterRef("pk"))
        .exclude(phase=Phase.ENDED)
        .order_by()
        .values("place")
        .annotate(number=Count("pk"))
    )
    held_there = living.filter(holder=member.person)
    places = list(
        with_last_entry(rows(Place, member))
        .select_related("site")
        .annotate(
            number=_number(living),
            own=_number(held_there),
        )
        .order_by("site", "position", "name", "pk")
    )
    today = garden_day(first_site(member.garden), timezone.now())
    held = holders_of(places, today)
    for place in places:
        place.held_by = held.get(place.pk, [])
    own = [place for place in places if place.own or member.person in held.get(place.pk, [])]
    context = {
        "own": own,
        "others": [place for place in places if place not in own],
        "today": today,
        "several_sites": len({place.site_id for place in places}) > 1,
        "sites": list(dict.fromkeys(place.site for place in places if not place.in_pots)),
    }
    return page(request, "beds.html", context)


def _number(counts: Any) -> Coalesce:
    return Coalesce(Subquery(counts.values("number")), Value(0), output_field=IntegerField())


@require_safe
def bed(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show who stands in a place, what is due there, and one act for several."""
    member = enter(request, slug)
    place = place_or_404(member, pk)
    today = place.site.local_day(timezone.now())
    plants = _standing_in(member, place)
    sowings = list(
        rows(Sowing, member)
        .filter(place=place)
        .exclude(phase=Phase.ENDED)
        .select_related("variety")
        .order_by("began_on", "pk")
    )
    due = grouped(minded(member).filter(where=place.pk, earliest__lte=today), today)
    several = request.GET.get("several") == "1" and can(member, "entry.log")
    acts = for_several(plants, place, due_acts(group.kind for group in due))
    holders = [] if place.in_pots else holders_of([place], today).get(place.pk, [])
    context = {
        "place": place,
        "plants": plants,
        "sowings": sowings,
        "due": due,
        "today": today,
        "sentence": _sentence(plants, sowings, sum(group.number for group in due)),
        "several": several,
        "acts": acts[:FIRST_FOR_SEVERAL],
        "more_acts": acts[FIRST_FOR_SEVERAL:],
        "saved": saved_several(request, member),
        "form_id": form_number(),
        "back": f"bed-{place.pk}",
        "group_whose": "",
        "rules": [] if place.in_pots else in_words(as_rules(place.rules)),
        "holders": holders,
        "hands_over": can(member, "hand_over.lead")
        or (can(member, "plant.hand_over") and bool(plants or sowings or member.person in holders)),
        "bed_notices": [] if place.in_pots else notices_for(member, place, today),
        **({} if several or place.in_pots else _care(member, place, plants, sowings, today)),
    }
    return page(request, "bed.html", context)


def _care(
    member: Membership, place: Place, plants: list[Plant], sowings: list[Sowing], today: date
) -> dict[str, Any]:
    """Return what a bed's page says of its water, its rotation and its room."""
    report = bed_report(place, plants, sowings, climate_of(place.site), today)
    return care_of(place, report, member.person, today)


def _standing_in(member: Membership, place: Place) -> list[Plant]:
    return list(
        rows(Plant, member)
        .filter(place=place)
        .exclude(phase=Phase.ENDED)
        .select_related("variety", "holder")
        .order_by("name", "pk")
    )


def _sentence(plants: list[Plant], sowings: list[Sowing], due: int) -> str:
    resting = sum(plant.phase == Phase.RESTING for plant in plants)
    said = counted(len(plants), "plant") if plants else "No plants"
    if resting:
        said += f", {resting} resting"
    if sowings:
        said += f", {counted(len(sowings), 'sowing')}"
    return f"{said}. {counted(due, 'thing') if due else 'Nothing'} due."


def for_several(plants: Iterable[Plant], place: Place, due: Iterable[Kind]) -> list[KindRule]:
    """Return the acts that every plant of a place may take now: due first, then the usual."""
    phases = {Phase(plant.phase) for plant in plants}
    found = [*due, *_ORDER, *Kind]
    rules = [RULES[kind] for kind in dict.fromkeys(found) if RULES[kind].subject == "plant"]
    return [
        rule
        for rule in rules
        if rule.by_hand and not rule.begins and all(_takes(rule, each, place) for each in phases)
    ]


def _takes(rule: KindRule, phase: Phase, place: Place) -> bool:
    roofed = rule.roof is not None and phase in OUTSIDE and rule.roof is not place.sheltered
    return phase in rule.leads_to and not roofed


@require_POST
def log_several(request: HttpRequest, slug: str, pk: int, kind: str) -> HttpResponse:
    """Log one act for the plants ticked; asks for more only where the act needs more."""
    member = enter(request, slug, "entry.log")
    place = place_or_404(member, pk)
    back = reverse("bed", args=[slug, place.pk])
    rule = next((each for each in for_several([], place, []) if each.kind == kind), None)
    ticked = set(request.POST.getlist("plant"))
    chosen = [plant for plant in _standing_in(member, place) if plant.code in ticked]
    if rule is None or not chosen:
        sentence = "Tick at least one plant." if rule else "There is no such kind of entry here."
        return refused_page(
            request, sentence, back=f"{back}?several=1", back_label=f"{place}: log for several"
        )
    now = timezone.now()
    complete = one_tap(rule) or request.POST.get("complete") == "1"
    initial = {"uuid": request.POST.get("uuid", "")[:36]}
    form = EntryForm(
        rule,
        member,
        place.site.local_day(now),
        request.POST if complete else None,
        initial=initial,
    )
    if complete and form.is_valid():
        first = attempt(form, lambda: _write_all(member, chosen, form, now))
        if first is not None:
            return redirect(f"{back}?saved={first}")
    return form_page(
        request,
        form,
        template="several.html",
        heading=f"{rule.label}: {counted(len(chosen), 'plant')} in {place}",
        button=f"Save for {counted(len(chosen), 'plant')}",
        back=f"{back}?several=1",
        back_label=str(place),
        cautions=cautions_of([rule.kind]),
        chosen=chosen,
    )


def _write_all(member: Membership, chosen: list[Plant], form: EntryForm, now: Any) -> int:
    """Log the form's draft for every plant; returns the first entry's number."""
    form_id: UUID = form.cleaned_data["uuid"]
    kind = form.rule.kind
    drafts = [(plant, form.draft(act_id(form_id, plant.code, kind))) for plant in chosen]
    logged = log_for_several(member, drafts, now=now)
    after_write(chosen, now)
    return logged[0].entry.pk


@require_http_methods(["GET", "HEAD", "POST"])
def add_place_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Give a site a bed, a bench, a raising bench or winter quarters."""
    member = enter(request, slug, "place.add")
    form = PlaceForm(member, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        typed = dict(form.cleaned_data)
        site = typed.pop("site")
        made = attempt(form, lambda: add_place(member, site, **typed))
        if made is not None:
            return redirect("bed", slug, made.pk)
    return form_page(
        request,
        form,
        heading="Add a place",
        button="Add the place",
        back=reverse("beds", args=[slug]),
        back_label="Beds",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def add_site_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Give the garden another piece of ground."""
    member = enter(request, slug, "site.edit")
    site = first_site(member.garden)
    zone = site.time_zone if site else "UTC"
    form = SiteForm(request.POST if request.method == "POST" else None, initial={"time_zone": zone})
    if request.method == "POST" and form.is_valid():
        typed = dict(form.cleaned_data)
        name = typed.pop("site_name")
        made = attempt(form, lambda: add_site(member, name=name, **typed))
        if made is not None:
            return redirect("climate", slug, made.pk)
    return form_page(
        request,
        form,
        heading="Add a site",
        button="Add the site",
        back=reverse("more", args=[slug]),
        back_label="More",
    )
