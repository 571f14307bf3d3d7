"""Sow or plan a sowing, follow it, and pot it up."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.handbook import CROPS
from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Sowing, Task, Variety
from lifecycle.records.crops.sowings import plan_sowing, pot_up, sow
from lifecycle.records.ground.gardens import variety
from lifecycle.reminders.work.planning import climate_of, life_of
from lifecycle.web.crops.buttons import log_buttons, one_tap
from lifecycle.web.crops.records import coming, form_number, history, saved_words, standing_words
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    first_site,
    form_page,
    garden_day,
    page,
    record_url,
    rows,
    sowing_or_404,
)
from lifecycle.web.forms.plants import PotUpForm, SowForm
from lifecycle.web.words import counted


@require_http_methods(["GET", "HEAD", "POST"])
def sow_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Record a sowing, or plan one and let the plan say when."""
    member = enter(request, slug, "plant.add")
    now = timezone.now()
    site = first_site(member.garden)
    data = request.POST if request.method == "POST" else None
    form = SowForm(member, garden_day(site, now), data, initial={"site": site.pk if site else None})
    if data is not None and form.is_valid():
        made = attempt(form, lambda: _sown(member, form.cleaned_data, now))
        if made is not None:
            after_write([made], now)
            return redirect(record_url(made, slug))
    return form_page(
        request,
        form,
        heading="Sow",
        button="Save the sowing",
        back=reverse("more", args=[slug]),
        back_label="More",
        varieties=list(rows(Variety, member).order_by("name").values_list("name", flat=True)),
    )


def _sown(member: Membership, typed: dict[str, Any], now: datetime) -> Sowing:
    kind = variety(member, species=typed["species"], name=typed["variety"])
    common = {
        "site": typed["site"],
        "variety": kind,
        "lot_name": typed["lot_name"],
        "packed_year": typed["packed_year"],
        "holder": typed["holder"],
        "uuid": typed["uuid"],
        "now": now,
    }
    if typed["act"] == "planned":
        return plan_sowing(member, **common)
    return sow(
        member,
        place=typed["place"],
        seeds=typed["seeds"],
        happened_on=typed["happened_on"] or typed["site"].local_day(now),
        **common,
    )


@require_safe
def sowing(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show a sowing: what to log, what comes next, the plants it gave, its record."""
    member = enter(request, slug)
    found = sowing_or_404(member, code)
    today = found.site.local_day(timezone.now())
    life = life_of(found)
    climate = climate_of(found.site)
    tasks = list(found.tasks.filter(state=Task.State.OPEN).order_by("best", "pk"))
    due = [task for task in tasks if task.earliest <= today]
    first, others = log_buttons(life, [])
    context = {
        "sowing": found,
        "crop": CROPS[found.variety.species],
        "sentence": standing_words(found, life, today),
        "counts": _counts(found),
        "may_pot_up": life.phase in (Phase.SOWN, Phase.SEEDLING),
        "today": today,
        "buttons": [(rule, one_tap(rule)) for rule in [*first, *others]],
        "form_id": form_number(),
        "saved": saved_words(request, member, found),
        "due": due,
        **coming(found, life, climate, today, due),
        "plants": list(found.plants.order_by("name", "pk")),
        **history(request, found),
    }
    return page(request, "sowing.html", context)


def _counts(found: Sowing) -> str:
    if not found.seeds_sown:
        return "Not sown yet."
    return (
        f"{counted(found.seeds_sown, 'seed')} sown, {found.emerged} up, "
        f"{found.potted_up} potted up."
    )


@require_http_methods(["GET", "HEAD", "POST"])
def pot_up_page(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Make plants of a sowing."""
    member = enter(request, slug, "plant.add")
    found = sowing_or_404(member, code)
    now = timezone.now()
    data = request.POST if request.method == "POST" else None
    initial = {"happened_on": found.site.local_day(now), "place": found.place_id}
    form = PotUpForm(member, data, initial=initial)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: pot_up(member, found, now=now, **form.cleaned_data))
        if made is not None:
            after_write([found, *made], now)
            return redirect(record_url(found, slug, done=1))
    return form_page(
        request,
        form,
        heading=f"Pot up: {found}",
        button="Save the pots",
        back=record_url(found, slug),
        back_label=str(found),
    )
