"""The inspection log: what is to be put right and by when, and one bed looked at."""

from datetime import date

from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Inspection, Membership, Place
from lifecycle.records.ground.inspections import close, holders, look
from lifecycle.records.refusal import Refused
from lifecycle.reminders.people.inspection_words import tell_holders
from lifecycle.web.door import (
    attempt,
    enter,
    first_site,
    garden_day,
    page,
    place_or_404,
    refused_page,
    rows,
)
from lifecycle.web.forms.inspections import IN_ORDER, LookForm
from lifecycle.web.ground.place_names import place_words

LOG_SHOWN = 50


@require_http_methods(["GET", "HEAD", "POST"])
def inspections(request: HttpRequest, slug: str) -> HttpResponse:
    """List what is to be put right, overdue first, the beds by when they were looked at."""
    member = enter(request, slug, "bed.inspect")
    if request.method == "POST":
        return _close(request, member, reverse("inspections", args=[slug]), "Inspections")
    today = garden_day(first_site(member.garden), timezone.now())
    found = rows(Inspection, member).select_related("place__site", "by").prefetch_related("told")
    waiting = list(
        found.filter(in_order=False, closed_on__isnull=True).order_by("put_right_by", "pk")
    )
    places = rows(Place, member).select_related("site").filter(kind="bed")
    looked_at = places.annotate(last=Max("inspections__looked_on"))
    log = list(found.select_related("closed_by")[:LOG_SHOWN])
    context = {
        "heading": _heading(waiting, today),
        "overdue": [each for each in waiting if _is_late(each, today)],
        "waiting": [each for each in waiting if not _is_late(each, today)],
        "beds": sorted(
            looked_at.order_by("site", "position", "name", "pk"),
            key=lambda place: place.last or date.min,
        ),
        "log": log,
        "names": place_words(each.place for each in (*waiting, *log)),
        "shown": LOG_SHOWN,
        "today": today,
    }
    return page(request, "inspections.html", context)


def _is_late(each: Inspection, today: date) -> bool:
    return each.put_right_by is not None and each.put_right_by < today


def _heading(waiting: list[Inspection], today: date) -> str:
    late = sum(_is_late(each, today) for each in waiting)
    if late:
        return f"Inspections: {late} overdue"
    if waiting:
        return f"Inspections: {len(waiting)} waiting to be put right"
    return "Inspections: nothing to put right"


@require_http_methods(["GET", "HEAD", "POST"])
def inspect(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Write down what was found at a bed; its holders are told the same day."""
    member = enter(request, slug, "bed.inspect")
    place = place_or_404(member, pk)
    if request.POST.get("act") == "close":
        return _close(request, member, request.path, str(place))
    now = timezone.now()
    today = place.site.local_day(now)
    form = LookForm(today, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: _look(member, place, form))
        if made is not None:
            return redirect(f"{request.path}?saved={made.pk}")
    log = rows(Inspection, member).filter(place=place).select_related("by", "closed_by")
    listed = list(log.prefetch_related("told")[:LOG_SHOWN])
    context = {
        "place": place,
        "name": place_words([place])[place.pk],
        "holders": holders(place, today),
        "log": listed,
        "saved": next((each for each in listed if str(each.pk) == request.GET.get("saved")), None),
        "form": form,
        "bad_form": form if form.errors else None,
        "today": today,
    }
    return page(request, "inspect.html", context)


def _look(member: Membership, place: Place, form: LookForm) -> Inspection:
    """Write down what was found, and tell the holders of what needs work."""
    given, now = form.cleaned_data, timezone.now()
    made = look(
        member,
        place,
        looked_on=given["looked_on"],
        in_order=given["found"] == IN_ORDER,
        finding=given["finding"],
        put_right_by=given["put_right_by"],
        now=now,
    )
    tell_holders(made, now=now)
    return made


def _close(request: HttpRequest, member: Membership, back: str, label: str) -> HttpResponse:
    text = request.POST.get("inspection", "")
    pk = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    found = get_object_or_404(rows(Inspection, member), pk=pk)
    try:
        close(member, found, now=timezone.now())
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label=label)
    return redirect(back)
