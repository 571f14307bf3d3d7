"""Bed rules of a site and of one bed: what they change is shown before they are saved."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.bed_rules import BedRules, day_in_words, in_words
from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Place, Plant, Sowing
from lifecycle.records.ground.bed_rules import as_rules, check_rules, set_bed_rules, set_site_rules
from lifecycle.reminders.work.rules_ahead import Standing, standing_under
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    form_page,
    number_in,
    place_or_404,
    refused_page,
    rows,
    site_or_404,
)
from lifecycle.web.forms.bed_rules import OwnRulesForm, RulesForm
from lifecycle.web.words import counted, planned_words

NO_RULE = "No rule: beds need not be cleared, and perennials may stay."


@require_http_methods(["GET", "HEAD", "POST"])
def site_rules(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Set the rules of all beds of a site that have none of their own."""
    member = enter(request, slug, "bed.rules")
    site = site_or_404(member, pk)
    now, before = timezone.now(), as_rules(site)
    data = request.POST if request.method == "POST" else None
    form = RulesForm(before, data)
    preview = ""
    if data is not None and form.is_valid():
        after = form.rules()
        if data.get("act") == "look":
            checked = attempt(form, lambda: check_rules(after))
            preview = "" if checked is None else ahead_words(standing_under(site, now=now), after)
        else:
            planned = attempt(form, lambda: set_site_rules(member, site, after, now=now))
            if planned is not None:
                return redirect(f"{request.path}?planned={planned}")
    return form_page(
        request,
        form,
        template="bed_rules.html",
        heading=f"Bed rules of {site}",
        button="Save the rules",
        back=reverse("beds", args=[slug]),
        back_label="Beds",
        in_force=in_words(before) or [NO_RULE],
        preview=preview,
        saved=_saved(request),
        own=list(site.places.filter(own_rules=True).order_by("position", "name", "pk")),
    )


@require_http_methods(["GET", "HEAD", "POST"])
def own_rules(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Give one bed rules of its own, or have it follow its site again."""
    member = enter(request, slug, "bed.rules")
    place = place_or_404(member, pk)
    back = reverse("bed", args=[slug, place.pk])
    if place.in_pots:
        sentence = f"{place} is not a bed: its plants stand in pots, which no bed rule is for."
        return refused_page(request, sentence, back=back, back_label=str(place))
    now, of_site, in_force = timezone.now(), as_rules(place.site), as_rules(place.rules)
    data = request.POST if request.method == "POST" else None
    words = " ".join(in_words(of_site)) or NO_RULE
    form = OwnRulesForm(in_force, words, own=place.own_rules, data=data)
    preview = ""
    if data is not None and form.is_valid():
        after = form.own_rules()
        if data.get("act") == "look":
            will_hold = of_site if after is None else after
            checked = attempt(form, lambda: check_rules(will_hold))
            standing = standing_under(place.site, place, now=now)
            preview = "" if checked is None else ahead_words(standing, will_hold)
        else:
            planned = attempt(form, lambda: set_bed_rules(member, place, after, now=now))
            if planned is not None:
                after_write(_living_in(member, place) if planned else [], now)
                return redirect(f"{request.path}?planned={planned}")
    return form_page(
        request,
        form,
        template="bed_rules.html",
        heading=f"Rules of {place}",
        button="Save the rules",
        back=back,
        back_label=str(place),
        in_force=in_words(in_force) or [NO_RULE],
        preview=preview,
        saved=_saved(request, at_once=True),
        own=[],
    )


def _living_in(member: Membership, place: Place) -> list[Plant | Sowing]:
    plants = rows(Plant, member).filter(place=place).exclude(phase=Phase.ENDED)
    sowings = rows(Sowing, member).filter(place=place).exclude(phase=Phase.ENDED)
    return [*plants, *sowings]


def ahead_words(standing: Standing, rules: BedRules) -> str:
    """Return what rules mean for what stands in the beds now."""
    if not standing.plants:
        return "No plant stands in these beds now. The rules hold for what is planted there later."
    where = f"{counted(standing.plants, 'plant')} in {counted(standing.beds, 'bed')}"
    stay = counted(standing.to_stay, "of them was", "of them were")
    stay = stay if standing.to_stay else "none of them was"
    if rules.clear_by is not None:
        day = day_in_words(rules.clear_by)
        said = f"{where} must be out by {day}; {stay} to stay in the ground."
    elif not rules.perennials_in_ground:
        number = standing.to_stay or "none"
        then = " and will be lifted" if standing.to_stay else ""
        said = f"Of {where}, {number} would have stayed in the ground{then}."
    else:
        said = f"{where}: none has to leave."
    return said if rules.plots_kept else f"{said} Each plan says that the plot may pass on."


def _saved(request: HttpRequest, *, at_once: bool = False) -> str:
    """Return what was saved, and when plans follow: those of one bed have done so already."""
    planned: Any = number_in(request, "planned", low=0)
    if planned is None:
        return ""
    if planned and at_once:
        followed = counted(planned, "plant or sowing is", "plants and sowings are")
        return f"The rules are saved. {followed} planned anew."
    return f"The rules are saved. {planned_words(planned)}"
