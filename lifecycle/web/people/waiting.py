"""The waiting list, by date: who asked for a place, and whom to invite next."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import WaitingPerson
from lifecycle.records.people.waiting import (
    add_waiting,
    invite_waiting,
    remove_waiting,
    still_waiting,
)
from lifecycle.records.refusal import Refused
from lifecycle.web.door import (
    attempt,
    enter,
    first_site,
    garden_day,
    number_in,
    page,
    refused_page,
    rows,
)
from lifecycle.web.forms.people import WaitingForm
from lifecycle.web.words import counted

PER_PAGE = 50
_ACTS = {"invite": invite_waiting, "remove": remove_waiting}
_SAID = {
    "added": "On the list.",
    "invite": "Invited. The letter is on its way.",
    "remove": "Taken off the list.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def waiting_list(request: HttpRequest, slug: str) -> HttpResponse:
    """Show who waits; a POST adds somebody, or invites or takes off one who waits."""
    member = enter(request, slug, "people.invite")
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    act = request.POST.get("act", "") if request.method == "POST" else ""
    found = still_waiting(rows(WaitingPerson, member))
    if act in _ACTS:
        number = request.POST.get("waiting", "")
        pk = int(number) if number.isascii() and number.isdigit() and len(number) < 19 else 0
        person = get_object_or_404(rows(WaitingPerson, member), pk=pk)
        try:
            _ACTS[act](member, person, now=now)
        except Refused as refusal:
            return refused_page(
                request, str(refusal), back=request.path, back_label="the waiting list"
            )
        return redirect(f"{request.path}?said={act}")
    posted = request.POST if request.method == "POST" else None
    form = WaitingForm(today, posted)
    if posted is not None and form.is_valid():
        attempt(form, lambda: add_waiting(member, now=now, **form.cleaned_data))
        if not form.errors:
            return redirect(f"{request.path}?said=added")
    shown = Paginator(found, PER_PAGE).get_page(number_in(request, "page") or 1)
    number_waiting = shown.paginator.count
    context = {
        "heading": f"{counted(number_waiting, 'person', 'people')} waiting for a place"
        if number_waiting
        else "Nobody waits for a place",
        "shown": shown,
        "form": form,
        "bad_form": form if form.errors else None,
        "today": today,
        "said": _SAID.get(request.GET.get("said", ""), ""),
    }
    return page(request, "waiting_list.html", context)
