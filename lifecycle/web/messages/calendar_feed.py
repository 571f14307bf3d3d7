"""The calendar feed at its secret address, and the part of My settings that gives it."""

import hashlib
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST, require_safe

from lifecycle.models import CalendarAddress, Person
from lifecycle.records.messages.calendar import address_by_code, code_of, end_address, new_address
from lifecycle.reminders.messages.calendar_feed import feed
from lifecycle.web.door import reader

FRESH_SECONDS = 900


@login_not_required
@require_safe
def calendar(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Give the calendar to whoever knows its address; any other address is not there."""
    address = address_by_code(pk, code)
    if address is None:
        raise Http404("There is no calendar at this address.")
    try:
        text = feed(address, now=timezone.now())
    except CalendarAddress.DoesNotExist:
        raise Http404("There is no calendar at this address.") from None
    mark = f'"{hashlib.sha256(text).hexdigest()[:32]}"'
    answer = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    answer["ETag"] = mark
    answer["Cache-Control"] = f"private, max-age={FRESH_SECONDS}"
    answer["X-Robots-Tag"] = "noindex"
    unchanged = get_conditional_response(request, etag=mark, response=answer)
    return unchanged if unchanged is not None else answer


@require_POST
def calendar_address(request: HttpRequest) -> HttpResponse:
    """Make a new calendar address, which ends the old one; or end it."""
    person = reader(request)
    if request.POST.get("act") == "stop":
        end_address(person)
    else:
        new_address(person, now=timezone.now())
    return redirect(f"{reverse('settings')}#calendar")


def part(person: Person) -> dict[str, Any]:
    """Return what My settings shows of the calendar: its address, or None while there is none."""
    address = CalendarAddress.objects.filter(person=person).first()
    if address is None:
        return {"address": None}
    path = reverse("calendar", args=[address.pk, code_of(address)])
    return {
        "address": f"{settings.SITE_URL}{path}",
        "subscribe": f"webcal://{urlsplit(settings.SITE_URL).netloc}{path}",
        "read_at": address.read_at,
    }
