"""Sensitive pages ask again who is there, unless that was asked within the last minutes."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import wraps
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

View = Callable[..., HttpResponse]

LASTS = timedelta(minutes=15)
KEY, BY = "sure_at", "sure_by"
PASSWORD, LINK = "password", "link"


def is_sure(request: HttpRequest, now: datetime) -> bool:
    """Return whether the reader gave a password or used a mailed link a short while ago."""
    at = request.session.get(KEY)
    return isinstance(at, int | float) and 0 <= now.timestamp() - at <= LASTS.total_seconds()


def is_sure_by_link(request: HttpRequest, now: datetime) -> bool:
    """Return whether the reader used a mailed link a short while ago."""
    return is_sure(request, now) and request.session.get(BY) == LINK


def now_sure(request: HttpRequest, now: datetime, by: str = PASSWORD) -> None:
    """Note that the reader has just shown who they are, with a password or a mailed link."""
    request.session[KEY] = now.timestamp()
    request.session[BY] = by


def sure(view: View) -> View:
    """Return a view that first asks again who is there, and then leads back to its own address.

    What a form held that was sent too late is lost: it has to be filled in again.
    """

    @wraps(view)
    def asked(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if is_sure(request, timezone.now()):
            return view(request, *args, **kwargs)
        return ask_again(request)

    return asked


def ask_again(request: HttpRequest) -> HttpResponse:
    """Lead to the page that asks who is there, and from there back to this address."""
    back = urlencode({"next": request.get_full_path()})
    return redirect(f"{reverse('sign-in-again')}?{back}")
