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
KEY = "sure_at"


def is_sure(request: HttpRequest, now: datetime) -> bool:
    """Return whether the reader gave a password or used a mailed link a short while ago."""
    at = request.session.get(KEY)
    return isinstance(at, int | float) and 0 <= now.timestamp() - at <= LASTS.total_seconds()


def now_sure(request: HttpRequest, now: datetime) -> None:
    """Note that the reader has just shown who they are."""
    request.session[KEY] = now.timestamp()


def sure(view: View) -> View:
    """Return a view that first asks again who is there, and then leads back to its own address."""

    @wraps(view)
    def asked(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if is_sure(request, timezone.now()):
            return view(request, *args, **kwargs)
        back = urlencode({"next": request.get_full_path()})
        return redirect(f"{reverse('sign-in-again')}?{back}")

    return asked
