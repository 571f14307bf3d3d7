"""The varieties of a garden, and their own values beside the published ones."""

from typing import Any

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.handbook import CROPS
from lifecycle.life.phases import Phase
from lifecycle.models import Person, Variety
from lifecycle.permissions import can, require
from lifecycle.records.crops.varieties import offered, set_values
from lifecycle.records.ground.gardens import variety as named_variety
from lifecycle.web.door import attempt, enter, form_page, number_in, page, rows
from lifecycle.web.forms.varieties import (
    LABELS,
    AddVarietyForm,
    ValuesForm,
    published_words,
    value_words,
)
from lifecycle.web.words import planned_words


@require_safe
def varieties(request: HttpRequest, slug: str) -> HttpResponse:
    """List the garden's varieties by species, with their own values beside the published."""
    member = enter(request, slug)
    living = Count("plants", filter=~Q(plants__phase=Phase.ENDED))
    found = rows(Variety, member).annotate(living=living).order_by("species", "name", "pk")
    context = {
        "varieties": [
            {
                "row": each,
                "species": CROPS[each.species].label,
                "values": _own_values(each, member.person),
            }
            for each in found
        ],
    }
    return page(request, "varieties.html", context)


def _own_values(variety: Variety, person: Person) -> list[dict[str, str]]:
    return [
        {
            "label": LABELS[name],
            "own": value_words(name, value, person),
            "published": published_words(variety, name, person),
        }
        for name, value in variety.overrides.items()
    ]


@require_http_methods(["GET", "HEAD", "POST"])
def add_variety_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a variety, or find the one that is there already."""
    member = enter(request, slug, "plant.add")
    form = AddVarietyForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: named_variety(member, **form.cleaned_data))
        if made is not None:
            return redirect("variety", slug, made.pk)
    return form_page(
        request,
        form,
        heading="Add a variety",
        button="Add the variety",
        back=reverse("varieties", args=[slug]),
        back_label="all varieties",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def variety(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show a variety's values, own beside published, and set its own."""
    member = enter(request, slug)
    found = get_object_or_404(rows(Variety, member), pk=pk)
    if request.method == "POST":
        require(member, "variety.edit")
    form = ValuesForm(member, found, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        planned = attempt(form, lambda: set_values(member, found, form.values()))
        if planned is not None:
            return redirect(f"{request.path}?saved=1&plants={planned}")
    context: dict[str, Any] = {
        "variety": found,
        "crop": CROPS[found.species],
        "rows": [
            {
                "label": LABELS[name],
                "published": published_words(found, name, member.person),
                "own": value_words(name, found.overrides[name], member.person)
                if name in found.overrides
                else "",
            }
            for name in offered(found)
        ],
        "form": form,
        "bad_form": form if form.errors else None,
        "may_edit": can(member, "variety.edit"),
        "saved": request.GET.get("saved") == "1",
        "planned": planned_words(number_in(request, "plants") or 0),
    }
    return page(request, "variety.html", context)
