"""Feed a plant or a bed: choose the material at hand, get the dose, and log what was given."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.feeding import Feed, Use
from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Place, Plant, Sowing
from lifecycle.permissions import require
from lifecycle.records.crops.feeding import feed as log_feed
from lifecycle.records.crops.materials import add_material
from lifecycle.records.refusal import Refused
from lifecycle.web.crops.feed_answer import Answer, answer_to, feeds_of
from lifecycle.web.crops.records import Record
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    page,
    place_or_404,
    plant_or_404,
    record_url,
    refused_page,
    rows,
)
from lifecycle.web.forms.feed import ChooseForm, GiveFeedForm, MaterialForm

FED_PHASES = (Phase.ESTABLISHING, Phase.GROWING, Phase.BEARING, Phase.WAKING)
"""Phases in which a plant in a bed is fed."""


@dataclass(frozen=True, slots=True)
class Fed:
    """Whom a page feeds, what a dose may be for, and where the page leads back to."""

    records: list[Record]
    place: Place | None
    uses: tuple[Use, ...]
    heading: str
    back: str
    back_label: str


@require_http_methods(["GET", "HEAD", "POST"])
def feed_plant(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Feed one plant."""
    member = enter(request, slug, "entry.log")
    plant = plant_or_404(member, code)
    uses, back = (Use.HOLE, Use.WATER), record_url(plant, slug)
    fed = Fed([plant], plant.place, uses, f"Feed {plant}", back, str(plant))
    return _feed(request, member, fed)


@require_http_methods(["GET", "HEAD", "POST"])
def feed_bed(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Feed what grows in a bed, or in the pots of a bench."""
    member = enter(request, slug, "entry.log")
    place = place_or_404(member, pk)
    plants = rows(Plant, member).filter(place=place, phase__in=FED_PHASES)
    sowings = rows(Sowing, member).filter(place=place, phase=Phase.SEEDLING)
    records: list[Record] = [
        *plants.select_related("variety", "site").order_by("name", "pk"),
        *sowings.select_related("variety", "site").order_by("pk"),
    ]
    uses = (Use.HOLE, Use.WATER) if place.in_pots else tuple(Use)
    back = reverse("bed", args=[slug, pk])
    return _feed(request, member, Fed(records, place, uses, f"Feed {place}", back, str(place)))


def _feed(request: HttpRequest, member: Membership, fed: Fed) -> HttpResponse:
    now = timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if request.method == "POST" and act not in ("feed", "material"):
        sentence = "It was not said what to do. Load the page again and use its buttons."
        return refused_page(request, sentence, back=fed.back, back_label=fed.back_label)
    adding = MaterialForm(member.person, request.POST if act == "material" else None, prefix="own")
    if act == "material":
        key = _added(member, adding)
        if key is not None:
            return redirect(f"{request.path}?material={key}&use={fed.uses[0].value}")
    known = feeds_of(member)
    choose = _choosing(request, member, fed, known)
    answer = None
    if choose.is_valid():
        answer = answer_to(choose, known, member.person, fed.records, fed.place, now)
    giving = _giving(request, member, answer, act)
    if act == "feed" and giving is not None and giving.is_valid():
        written = attempt(giving, lambda: _written(request, member, fed, giving, now))
        if written is not None:
            return redirect(f"{fed.back}?saved={written}")
    forms = (choose, adding, giving)
    context = {
        "fed": fed,
        "choose": choose,
        "answer": answer,
        "giving": giving,
        "adding": adding,
        "bad_form": next((form for form in forms if form is not None and form.errors), None),
    }
    return page(request, "feed.html", context)


def _choosing(
    request: HttpRequest, member: Membership, fed: Fed, known: dict[str, Feed]
) -> ChooseForm:
    """Return the form that asks for the material; it is sent in the address."""
    named = [(feed.key, f"{feed.label} {feed.analysis}") for feed in known.values()]
    sent = request.GET if "material" in request.GET else None
    initial = {"area_m2": fed.place.area_m2} if fed.place else {}
    return ChooseForm(named, fed.uses, member.person, sent, initial=initial, auto_id="choose_%s")


def _added(member: Membership, form: MaterialForm) -> str | None:
    require(member, "material.add")
    if not form.is_valid():
        return None
    made = attempt(form, lambda: add_material(member, **form.cleaned_data))
    return made.key if made is not None else None


def _giving(
    request: HttpRequest, member: Membership, answer: Answer | None, act: str
) -> GiveFeedForm | None:
    """Return the form that logs a dose: as it was sent, else filled with the answer."""
    sent = request.POST if act == "feed" else None
    if sent is not None:
        use = Use.HOLE if sent.get("use") == Use.HOLE else Use.BED
        return GiveFeedForm(use, member.person, sent)
    if answer is None:
        return None
    return GiveFeedForm(
        answer.use,
        member.person,
        initial={
            "material": answer.material,
            "use": answer.use.value,
            "grams": answer.grams,
            "note": answer.note,
        },
    )


def _written(
    request: HttpRequest, member: Membership, fed: Fed, form: GiveFeedForm, now: datetime
) -> int:
    """Log the dose for the records ticked; returns the number of the first entry."""
    typed: dict[str, Any] = form.cleaned_data
    ticked = set(request.POST.getlist("plant"))
    chosen = [each for each in fed.records if each.code in ticked]
    if not chosen:
        raise Refused(
            "Tick at least one plant to feed." if fed.records else "Nothing here can be fed."
        )
    share = typed["grams"] if typed["use"] == Use.HOLE else typed["grams"] / len(chosen)
    logged = log_feed(
        member,
        dict.fromkeys(chosen, share),
        material=typed["material"],
        happened_on=typed["happened_on"] or chosen[0].site.local_day(now),
        note=typed["note"],
        uuid=typed["uuid"],
        now=now,
    )
    after_write(chosen, now)
    return logged[0].entry.pk
