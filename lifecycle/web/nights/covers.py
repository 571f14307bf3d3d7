"""The covers of a site: what there is for a frost night, and where it is kept."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.wording import degrees, measure
from lifecycle.handbook import CAUTIONS, PROTECTIONS
from lifecycle.models import GardenCover, Membership, Site
from lifecycle.permissions import can, require
from lifecycle.records.nights.covers import add_cover, change_cover, remove_cover
from lifecycle.web.door import attempt, enter, form_page, page, rows, site_or_404
from lifecycle.web.forms.frost import CoverForm
from lifecycle.web.words import counted

_COLUMNS = ("protection", "pieces", "area_m2", "kept_in")


@require_http_methods(["GET", "HEAD", "POST"])
def covers(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """List the covers of a site with what each is sure to give, and add some."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    if request.method == "POST":
        require(member, "cover.edit")
    form = CoverForm(member.person, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: add_cover(member, site, **form.cleaned_data))
        if made is not None:
            return redirect(f"{request.path}?saved=1")
    listed = list(rows(GardenCover, member).filter(site=site))
    cautions = [key for each in listed for key in PROTECTIONS[each.protection].cautions]
    context = {
        "site": site,
        "today": site.local_day(timezone.now()),
        "covers": [(each, *_words(each, member)) for each in listed],
        "cautions": [CAUTIONS[key] for key in dict.fromkeys(cautions)],
        "form": form if can(member, "cover.edit") else None,
        "bad_form": form if form.errors else None,
        "saved": request.GET.get("saved") == "1",
    }
    return page(request, "frost_covers.html", context)


def _words(cover: GardenCover, member: Membership) -> tuple[str, str, str]:
    """Return what covers are called, how much there is, and what they are sure to give."""
    person = member.person
    protection = PROTECTIONS[cover.protection]
    amount = f"{counted(cover.pieces, 'piece')} of {measure(cover.area_m2, 'm2', person.length)}"
    sure = degrees(protection.sure_c, "C").removesuffix(" °C")
    if person.temperature == "F":
        sure = f"{protection.sure_c * 1.8:.0f}"
    gain = f"sure of {sure} degrees {person.temperature} warmer in still air"
    return protection.label, amount, gain


@require_http_methods(["GET", "HEAD", "POST"])
def cover(request: HttpRequest, slug: str, pk: int, cover: int) -> HttpResponse:
    """Change covers of one kind, or take them off the list."""
    member = enter(request, slug, "cover.edit")
    site = site_or_404(member, pk)
    found = get_object_or_404(rows(GardenCover, member), pk=cover, site=site)
    back = reverse("covers", args=[slug, site.pk])
    if request.POST.get("act") == "remove":
        remove_cover(member, found)
        return redirect(back)
    form = CoverForm(
        member.person,
        request.POST if request.method == "POST" else None,
        initial={name: getattr(found, name) for name in _COLUMNS},
    )
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: change_cover(member, found, **form.cleaned_data))
        if made is not None:
            return redirect(f"{back}?saved=1")
    return form_page(
        request,
        form,
        template="frost_cover.html",
        heading=f"Covers at {site}",
        button="Save",
        back=back,
        back_label=_back_label(site),
    )


def _back_label(site: Site) -> str:
    return f"the covers of {site}"
