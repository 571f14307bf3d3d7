"""One's own place in a garden: the page after joining, and what one says about oneself."""

from datetime import date, timedelta

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Plant
from lifecycle.records.ground.holdings import beds_held_by
from lifecycle.records.people.memberships import describe_self, read_safety
from lifecycle.records.refusal import Refused
from lifecycle.web.crops.records import form_number
from lifecycle.web.door import (
    attempt,
    enter,
    first_site,
    garden_day,
    page,
    refused_page,
    rows,
)
from lifecycle.web.forms.people import MyMembershipForm
from lifecycle.web.work.groups import MINE, NOBODY, grouped, minded

WEEK = timedelta(days=7)
PLANTS_SHOWN = 40
SAFETY = "safety"


@require_safe
def welcome(request: HttpRequest, slug: str) -> HttpResponse:
    """Show a newcomer their bed, what grows there, and what is to be done this week."""
    member = enter(request, slug)
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    beds = beds_held_by(member.person, member.garden_id, today)
    plants = list(_plants(member, [bed.pk for bed in beds])[:PLANTS_SHOWN])
    places = [bed.pk for bed in beds]
    near = minded(member).filter(
        Q(whose=MINE) | Q(whose=NOBODY, where__in=places), earliest__lte=today + WEEK
    )
    due = grouped(near, today)
    context = {
        "beds": [(bed, [each for each in plants if each.place_id == bed.pk]) for bed in beds],
        "others": [each for each in plants if each.place_id not in places],
        "mine": [group for group in due if group.whose == MINE],
        "waiting": [group for group in due if group.whose == NOBODY],
        "today": today,
        "form_id": form_number(),
        "back": "today",
    }
    return page(request, "welcome.html", context)


def _plants(member: Membership, beds: list[int]) -> QuerySet[Plant]:
    return (
        rows(Plant, member)
        .filter(Q(place__in=beds) | Q(holder=member.person))
        .exclude(phase=Phase.ENDED)
        .select_related("place", "variety")
        .order_by("place__position", "place__name", "name", "pk")
    )


@require_http_methods(["GET", "HEAD", "POST"])
def my_membership(request: HttpRequest, slug: str) -> HttpResponse:
    """Show and set what the reader says about themselves in this garden."""
    member = enter(request, slug, "own.edit")
    now = timezone.now()
    if request.POST.get("act") == SAFETY:
        try:
            read_safety(member, now=now)
        except Refused as refusal:
            return refused_page(request, str(refusal), back=request.path, back_label="your page")
        return redirect(f"{request.path}?said=safety")
    posted = request.POST if request.method == "POST" else None
    initial = {key: getattr(member, key) for key in MyMembershipForm.base_fields}
    form = MyMembershipForm(posted, initial=initial)
    if posted is not None and form.is_valid():
        attempt(form, lambda: describe_self(member, **form.cleaned_data))
        if not form.errors:
            return redirect(f"{request.path}?said=saved")
    site = first_site(member.garden)
    read_on: date | None = (
        garden_day(site, member.safety_read_at) if member.safety_read_at is not None else None
    )
    context = {
        "form": form,
        "bad_form": form if form.errors else None,
        "who": member,
        "safety_read_on": read_on,
        "today": garden_day(site, now),
        "said": _SAID.get(request.GET.get("said", ""), ""),
    }
    return page(request, "my_membership.html", context)


_SAID = {"saved": "Saved.", "safety": "Thank you. It is noted that you have read it."}
