"""Too many failures to sign in: one page, the same for every address, known or not.

The failures of one address from one place are counted by django-axes. One place that tries many
addresses is stopped here, whatever they are.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lifecycle.records.people import allowance
from lifecycle.web.people.asker import address_of
from lifecycle.web.people.own_path import own_path

ACT = "sign-in"
FAILURES = 50
"""Of one place over all addresses; behind one connection may sit a whole garden."""
WITHIN = timedelta(minutes=15)
LONGEST_NAME = 255
TOO_MANY = 429


def may_try(request: HttpRequest, now: datetime) -> bool:
    """Take a try from the place the request comes from; False when it has none left."""
    return allowance.spend(ACT, _place(request), most=FAILURES, per=WITHIN, now=now)


def was_right(request: HttpRequest) -> None:
    """Give the try back: it was no failure."""
    allowance.give_back(ACT, _place(request), most=FAILURES)


def username_of(request: HttpRequest, credentials: Mapping[str, Any] | None = None) -> str | None:
    """Return the address under which failures are counted: in lower case, at a bounded length."""
    name = (credentials or {}).get("username")
    return str(name).strip().lower()[:LONGEST_NAME] if name else None


def locked_out(
    request: HttpRequest,
    response: HttpResponse | None = None,
    credentials: Mapping[str, Any] | None = None,
) -> HttpResponse:
    """Render the page of too many failures. It tells nothing of the address that was tried."""
    wait: timedelta = settings.AXES_COOLOFF_TIME
    back = own_path(request.POST.get("next", ""))
    context = {"minutes": int(wait.total_seconds() // 60), "next": back}
    answer = render(request, "lifecycle/sign_in_locked.html", context, status=TOO_MANY)
    answer["Retry-After"] = str(int(wait.total_seconds()))
    answer["Cache-Control"] = "private, no-store"
    return answer


def _place(request: HttpRequest) -> str:
    return address_of(request) or "unknown"
