"""Who holds a bed, since when, and who held it before."""

from datetime import date, datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import BedHolding, Membership, Place
from lifecycle.records.ground.holdings import hold, let_go, set_common
from lifecycle.records.refusal import Refused
from lifecycle.web.door import attempt, enter, page, place_or_404, refused_page, rows
from lifecycle.web.forms.bed_holders import HoldForm, LetGoForm


@require_http_methods(["GET", "HEAD", "POST"])
def bed_holders(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show a bed's holders and their history; add one, end one, or make it common ground."""
    member = enter(request, slug, "bed.holders")
    place = place_or_404(member, pk)
    now = timezone.now()
    back = reverse("bed", args=[slug, place.pk])
    if place.in_pots:
        sentence = f"{place} is not a bed. Only beds are held as plots."
        return refused_page(request, sentence, back=back, back_label=str(place))
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if act in ("common", "plot"):
        return _common(request, member, place, act == "common", back)
    today = place.site.local_day(now)
    adding = HoldForm(member, today, request.POST if act == "hold" else None)
    if act == "hold" and adding.is_valid():
        typed = adding.cleaned_data
        made = attempt(adding, lambda: hold(member, place, typed["person"], typed["since"], now))
        if made is not None:
            return redirect(f"{request.path}?saved=1")
    held = _with_names(member, place)
    ending = {
        each.pk: LetGoForm(today, each.pk, request.POST if act == f"end-{each.pk}" else None)
        for each in held
        if each.until is None
    }
    for each in held:
        form = ending.get(each.pk)
        if form is not None and form.is_bound and _end(member, place, each, form, now):
            return redirect(f"{request.path}?saved=1")
    forms = [adding, *ending.values()]
    context = {
        "place": place,
        "holding": [(each, ending[each.pk]) for each in held if each.pk in ending],
        "before": [each for each in reversed(held) if each.until is not None],
        "adding": adding,
        "bad_form": next((form for form in forms if form.errors), None),
        "saved": request.GET.get("saved") == "1",
        "today": today,
        "back": back,
    }
    return page(request, "bed_holders.html", context)


def _end(
    member: Membership, place: Place, held: BedHolding, form: LetGoForm, now: datetime
) -> bool:
    """End a holding by its form; False where the form or the record refuses it."""
    if not form.is_valid():
        return False
    until: date = form.cleaned_data["until"]
    return attempt(form, lambda: let_go(member, place, held.person, until, now)) is not None


def _common(
    request: HttpRequest, member: Membership, place: Place, common: bool, back: str
) -> HttpResponse:
    try:
        set_common(member, place, common)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=request.path, back_label="its holders")
    return redirect(f"{request.path}?saved=1")


def _with_names(member: Membership, place: Place) -> list[BedHolding]:
    """Return all holdings of a bed, oldest first, marked where their person has left."""
    held = list(rows(BedHolding, member).filter(place=place).select_related("person"))
    here = set(
        rows(Membership, member).filter(left_on__isnull=True).values_list("person_id", flat=True)
    )
    for each in held:
        each.has_left = each.person_id not in here  # type: ignore[attr-defined]
    return held
