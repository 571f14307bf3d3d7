"""How long somebody stays signed in: 90 days on a phone of their own, else 12 hours.

On "this is my phone or computer" the 90 days begin anew on every day the session is used. That
costs one write a day, as does noting when a person was last here.
"""

from collections.abc import Callable
from datetime import datetime, timedelta

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from lifecycle.models import Person
from lifecycle.records.people.sessions import seen
from lifecycle.web.people.sure import now_sure

OWN_DEVICE_LASTS = timedelta(days=90)
SHARED_DEVICE_LASTS = timedelta(hours=12)
BACKEND = "lifecycle.web.people.sign_in_backend.PersonBackend"
OWN_DEVICE, ROLLED_ON = "own_device", "rolled_on"


def begin(
    request: HttpRequest, person: Person, *, own_device: bool, now: datetime, by: str = "password"
) -> None:
    """Sign ``person`` in, under a new session key; who they are has just been shown.

    ``by`` tells how: with a password, or with a link from their mail.
    """
    if request.user == person:
        # Django keeps the key of somebody who signs in once more.
        request.session.cycle_key()
    login(request, person, backend=BACKEND)
    request.session[OWN_DEVICE] = own_device
    _let_last(request, now)
    now_sure(request, now, by=by)


class Presence:
    """Note once a day that a person is here, and let their own phone's session last on."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, then write what a first request of the day has to write."""
        response = self.get_response(request)
        if request.user.is_authenticated:
            self._note(request, request.user, timezone.now())
        return response

    def _note(self, request: HttpRequest, person: Person, now: datetime) -> None:
        today = now.date()
        # The person is read already, and so is the session: looking costs nothing.
        if person.last_seen_on is None or person.last_seen_on < today:
            seen(person, today)
        session = request.session
        if session.get(OWN_DEVICE) and session.get(ROLLED_ON, "") < today.isoformat():
            _let_last(request, now)


def _let_last(request: HttpRequest, now: datetime) -> None:
    own = request.session.get(OWN_DEVICE)
    # An instant, so that what else is written to the session does not prolong it.
    request.session.set_expiry(now + (OWN_DEVICE_LASTS if own else SHARED_DEVICE_LASTS))
    request.session[ROLLED_ON] = now.date().isoformat()
