"""What a bed is made of and what stood in it, and a day's rain and warmth at its site."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.handbook import FAMILIES
from lifecycle.life.growing_year import growing_year_of
from lifecycle.models import BedYear
from lifecycle.records.ground.ground import forget_year, note_year, set_ground
from lifecycle.records.weather.readings import type_reading
from lifecycle.web.door import attempt, enter, form_page, place_or_404, rows, site_or_404, way_back
from lifecycle.web.forms.ground import GroundForm, ReadingForm, YearForm

_GROUND = ("length_m", "width_m", "depth_cm", "soil", "mulched", "wire")


@require_http_methods(["GET", "HEAD", "POST"])
def ground(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Say how large a bed is, and what it is made of."""
    member = enter(request, slug, "place.edit")
    place = place_or_404(member, pk)
    back = reverse("bed", args=[slug, place.pk])
    form = GroundForm(
        member,
        request.POST if request.method == "POST" else None,
        initial={name: getattr(place, name) for name in _GROUND},
    )
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: set_ground(member, place, **form.cleaned_data))
        if made is not None:
            return redirect(back)
    return form_page(
        request,
        form,
        heading=f"Size and soil of {place}",
        button="Save",
        back=back,
        back_label=str(place),
    )


@require_http_methods(["GET", "HEAD", "POST"])
def years(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Note what stood in a bed before the record, or take such a note back."""
    member = enter(request, slug, "place.edit")
    place = place_or_404(member, pk)
    now = timezone.now()
    noted = rows(BedYear, member).filter(place=place)
    if request.POST.get("act") == "forget":
        forget_year(member, get_object_or_404(noted, pk=_number(request.POST.get("row", ""))))
        return redirect(request.path)
    this_year = growing_year_of(place.site.local_day(now), place.site.year_starts_in)
    form = YearForm(this_year, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: note_year(member, place, now=now, **form.cleaned_data))
        if made is not None:
            return redirect(request.path)
    return form_page(
        request,
        form,
        template="bed_years.html",
        heading=f"What stood in {place} before the record",
        button="Add the year",
        back=reverse("bed", args=[slug, place.pk]),
        back_label=str(place),
        noted=[(row, FAMILIES.get(row.family, row.family)) for row in noted.order_by("-year")],
    )


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


@require_http_methods(["GET", "HEAD", "POST"])
def reading(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Type a day's rain, low and high at a site."""
    member = enter(request, slug, "weather.type")
    site = site_or_404(member, pk)
    now = timezone.now()
    back, label = way_back(request.GET.get("back", ""), slug)
    data = request.POST if request.method == "POST" else None
    form = ReadingForm(member, site.local_day(now), data)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: type_reading(member, site, now=now, **form.cleaned_data))
        if made is not None:
            return redirect(back)
    return form_page(
        request,
        form,
        heading=f"Rain and warmth at {site}",
        button="Save the day",
        back=back,
        back_label=label,
    )
