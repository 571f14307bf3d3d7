"""The list of plants, a plant's page, and the rarer acts on it."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django import forms
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.care.unseen import not_seen_yet
from lifecycle.handbook import CAUTIONS, CROPS
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PHASE_LABELS, Phase
from lifecycle.models import Membership, Place, Plant, SeedLot, Task, Variety
from lifecycle.records.crops.plants import inherit, save_seed, split_pair, take_cuttings
from lifecycle.records.ground.gardens import variety
from lifecycle.records.people.handing_load import load_of
from lifecycle.reminders.work.planning import climate_of, life_of
from lifecycle.web import charts
from lifecycle.web.crops.buttons import cautions_of, due_acts, log_buttons, one_tap
from lifecycle.web.crops.records import (
    Record,
    coming,
    form_number,
    history,
    saved_words,
    standing_words,
)
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    first_site,
    form_page,
    garden_day,
    page,
    plant_or_404,
    record_url,
    rows,
)
from lifecycle.web.forms.choices import people_of
from lifecycle.web.forms.entries import CuttingsForm, SeedForm, SplitForm
from lifecycle.web.forms.plants import SearchForm, TakeOverForm
from lifecycle.web.people.handing_ahead import waiting_hand_over
from lifecycle.web.tables import PlantTable


@require_safe
def plants(request: HttpRequest, slug: str) -> HttpResponse:
    """List the garden's plants: search, narrow, sort, page."""
    member = enter(request, slug)
    form = _search(request, member)
    found = rows(Plant, member).select_related("variety", "place", "holder")
    found = _narrowed(found, form.cleaned_data).order_by("name", "pk")
    site = first_site(member.garden)
    table = PlantTable.shown(
        request, found, slug=slug, today=garden_day(site, timezone.now()), person=member.person
    )
    context = {
        "table": table,
        "form": form,
        "unknown": [error for errors in form.errors.values() for error in errors],
        "narrowed": any(form.cleaned_data.values()),
    }
    return page(request, "plants.html", context)


def _search(request: HttpRequest, member: Membership) -> SearchForm:
    choices = {
        "phase": [(each.value, PHASE_LABELS[each]) for each in Phase if each is not Phase.PLANNED],
        "place": [(str(p.pk), str(p)) for p in rows(Place, member).order_by("position", "name")],
        "holder": [("0", "Nobody"), *((str(p.pk), p.name) for p in people_of(member))],
        "species": [(key, crop.label) for key, crop in CROPS.items()],
    }
    form = SearchForm(choices, request.GET)
    form.is_valid()
    return form


def _narrowed(found: Any, wanted: dict[str, str]) -> Any:
    state = wanted.get("state", "")
    if state == "ended":
        found = found.filter(phase=Phase.ENDED)
    elif state != "all":
        found = found.exclude(phase=Phase.ENDED)
    if wanted.get("phase"):
        found = found.filter(phase=wanted["phase"])
    if wanted.get("place"):
        found = found.filter(place_id=int(wanted["place"]))
    if wanted.get("holder"):
        found = found.filter(holder_id=int(wanted["holder"]) or None)
    if wanted.get("species"):
        found = found.filter(variety__species=wanted["species"])
    for word in wanted.get("q", "").split()[:8]:
        found = found.filter(
            Q(name__icontains=word) | Q(code__istartswith=word) | Q(variety__name__icontains=word)
        )
    return found


@require_safe
def plant(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show a plant: log buttons, what is due, the plan, its years, its record."""
    member = enter(request, slug)
    found = plant_or_404(member, code)
    now = timezone.now()
    today = found.site.local_day(now)
    life = life_of(found)
    climate = climate_of(found.site)
    tasks = _open_tasks(found)
    due = [task for task in tasks if task.earliest <= today]
    context = {
        "plant": found,
        "crop": CROPS[found.variety.species],
        "sentence": standing_words(found, life, today),
        "unseen": climate.dates is not None and not_seen_yet(life, climate.dates, today),
        "today": today,
        "due": due,
        "form_id": form_number(),
        "saved": saved_words(request, member, found),
        "ways": _ways(found, life),
        "waiting": waiting_hand_over(member, load_of(found)) if life.alive else None,
        "around": today,
        **buttons_of(life, due),
        **coming(found, life, climate, today, due),
        **history(request, found),
        **_years(found, life, today),
        **_family(found),
    }
    return page(request, "plant.html", context)


def _open_tasks(found: Plant) -> list[Task]:
    """Return the plant's open tasks, with the chores that are for it alone."""
    own = Q(plant=found) | Q(chore__plant=found)
    return list(
        Task.objects.filter(own, state=Task.State.OPEN)
        .select_related("assignee", "chore")
        .order_by("best", "kind", "number", "pk")
    )


def buttons_of(life: Life, due: list[Task]) -> dict[str, Any]:
    """Return the acts a page offers, with what can hurt."""
    acts = due_acts(task.kind for task in due)
    first, others = log_buttons(life, acts)
    now = cautions_of(rule.kind for rule in first if rule.kind in acts)
    later = cautions_of(rule.kind for rule in first if rule.kind not in acts)
    return {
        "buttons": [(rule, one_tap(rule)) for rule in first],
        "others": bool(others),
        "cautions": now,
        "later_cautions": [text for text in later if text not in now],
    }


def _years(found: Plant, life: Life, today: date) -> dict[str, Any]:
    return {
        "strip": charts.year_strip(life, found.name, found.site.year_starts_in, today),
        "strip_rows": charts.strip_rows(life),
        "strip_sentence": charts.strip_sentence(life),
        "mark_words": charts.MARK_WORDS,
    }


def _family(found: Plant) -> dict[str, Any]:
    return {
        "children": list(found.children.order_by("name", "pk")),
        "seed_lots": list(SeedLot.objects.filter(saved_from=found).order_by("name", "pk")),
    }


def _ways(found: Plant, life: Life) -> list[tuple[str, str]]:
    """Return the rare acts that are possible now, as (address name, words)."""
    if not life.alive:
        return []
    ways = [("move", "Move"), ("cuttings", "Take cuttings"), ("seed", "Save seed")]
    if life.count > 1:
        ways.append(("split", "Split the pair"))
    return [*ways, ("hand-over", "Hand over"), ("identity", "Which plant is this")]


@require_safe
def log_choice(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """List every act that this plant's record takes now."""
    member = enter(request, slug, "entry.log")
    found = plant_or_404(member, code)
    first, others = log_buttons(life_of(found), [])
    context = {
        "plant": found,
        "buttons": [(rule, one_tap(rule)) for rule in [*first, *others]],
        "form_id": form_number(),
    }
    return page(request, "log_choice.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def take_over(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a plant whose history is unknown."""
    member = enter(request, slug, "plant.add")
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    data = request.POST if request.method == "POST" else None
    form = TakeOverForm(member, today, data)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: _taken_over(member, dict(form.cleaned_data), now))
        if made is not None:
            after_write([made], now)
            return redirect(record_url(made, slug))
    return form_page(
        request,
        form,
        heading="Take over a plant whose history is unknown",
        button="Add the plant",
        back=reverse("plants", args=[slug]),
        back_label="all plants",
        varieties=list(rows(Variety, member).order_by("name").values_list("name", flat=True)),
    )


def _taken_over(member: Membership, typed: dict[str, Any], now: Any) -> Plant:
    kind = variety(member, species=typed.pop("species"), name=typed.pop("variety"))
    return inherit(member, variety=kind, now=now, **typed)


def _act_page(
    request: HttpRequest,
    slug: str,
    code: str,
    *,
    make_form: Callable[[Membership, Any, dict[str, Any]], forms.Form],
    verb: Callable[[Membership, Plant, dict[str, Any], Any], Record | object],
    heading: str,
    button: str,
    cautions: list[str],
) -> HttpResponse:
    """Show and take one of the rarer acts on a plant."""
    member = enter(request, slug, "plant.add")
    found = plant_or_404(member, code)
    now = timezone.now()
    data = request.POST if request.method == "POST" else None
    form = make_form(member, data, {"happened_on": found.site.local_day(now)})
    if data is not None and form.is_valid():
        made = attempt(form, lambda: verb(member, found, form.cleaned_data, now))
        if made is not None:
            fresh = made if isinstance(made, list) else [made]
            after_write([found, *(each for each in fresh if isinstance(each, Plant))], now)
            return redirect(record_url(found, slug, done=1))
    return form_page(
        request,
        form,
        heading=f"{heading}: {found}",
        button=button,
        back=record_url(found, slug),
        back_label=str(found),
        cautions=cautions,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def split(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Split a pair into two plants."""
    return _act_page(
        request,
        slug,
        code,
        make_form=lambda member, data, initial: SplitForm(data, initial=initial),
        verb=lambda member, found, typed, now: split_pair(member, found, now=now, **typed),
        heading="Split the pair",
        button="Split the pair",
        cautions=cautions_of([Kind.LIFTED]),
    )


@require_http_methods(["GET", "HEAD", "POST"])
def cuttings(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Take cuttings of a plant."""
    return _act_page(
        request,
        slug,
        code,
        make_form=lambda member, data, initial: CuttingsForm(member, data, initial=initial),
        verb=lambda member, found, typed, now: take_cuttings(member, found, now=now, **typed),
        heading="Take cuttings",
        button="Save the cuttings",
        cautions=cautions_of([Kind.CUTTING_TAKEN]),
    )


@require_http_methods(["GET", "HEAD", "POST"])
def seed(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Keep seed of a plant as a seed lot."""
    return _act_page(
        request,
        slug,
        code,
        make_form=lambda member, data, initial: SeedForm(data, initial=initial),
        verb=lambda member, found, typed, now: save_seed(member, found, now=now, **typed),
        heading="Save seed",
        button="Save the seed lot",
        cautions=[CAUTIONS["capsaicin"]],
    )
