"""Sign in without a password: ask for a link by e-mail, and use it.

Asking is the same work and the same answer for every address. Opening the link changes nothing,
since programs open every address in a mail; the button on its page signs in.
"""

from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from lifecycle.records.ground.gardens import nobody_yet
from lifecycle.records.people import allowance
from lifecycle.records.people.letters import LINK_LASTS, ask_for_link, is_open, open_link
from lifecycle.web.door import page
from lifecycle.web.forms.account import LinkForm, OpenLinkForm
from lifecycle.web.people import session
from lifecycle.web.people.asker import address_of
from lifecycle.web.people.own_path import own_path
from lifecycle.web.people.sure import LINK
from lifecycle.web.people.way_kept import NEXT, kept, way_on

PER_ADDRESS = 5
PER_PLACE = 30
WITHIN = timedelta(hours=1)
"""How many links may be asked for: for one address, and from one place for all addresses."""
NO_SUCH_LINK = 404


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_link(request: HttpRequest) -> HttpResponse:
    """Ask for a link; the answer is the same whether or not anybody has the address."""
    if request.method != "POST" and nobody_yet():
        return redirect("first-run")
    given = request.POST if request.method == "POST" else None
    back = own_path((given or request.GET).get(NEXT))
    form = LinkForm(given)
    asked = ""
    if form.is_valid():
        asked = form.cleaned_data["email"]
        mail_link(request, asked, back=back, now=timezone.now())
    context: dict[str, Any] = {
        "form": form,
        "bad_form": form if form.errors else None,
        "asked": asked,
        "minutes": _minutes(),
        NEXT: back,
    }
    return page(request, "sign_in_link.html", context)


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_by_link(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Show the button that signs in; a POST does it, once."""
    now = timezone.now()
    if request.method != "POST":
        if not is_open(pk, code, now=now):
            return _spent(request)
        return _unlisted(page(request, "sign_in_by_link.html", {"form": OpenLinkForm()}))
    form = OpenLinkForm(request.POST)
    form.is_valid()
    opened = open_link(pk, code, now=now)
    if opened is None:
        return _spent(request)
    own = form.cleaned_data["own_device"]
    session.begin(request, opened.person, own_device=own, now=now, by=LINK)
    return redirect(way_on(opened.data, kept_at=opened.asked_at) or "home")


def mail_link(request: HttpRequest, email: str, *, back: str, now: datetime) -> None:
    """Write down one letter with a link, unless too many were asked for already.

    Nobody is told of that: the sentence on the page stays the same.
    """
    place = address_of(request) or "unknown"
    if not allowance.spend("link-place", place, most=PER_PLACE, per=WITHIN, now=now):
        return
    address = email.strip().lower()
    if allowance.spend("link-address", address, most=PER_ADDRESS, per=WITHIN, now=now):
        ask_for_link(address, now=now, data=kept(back) if back else {})


def _spent(request: HttpRequest) -> HttpResponse:
    """Render the one page for every link that signs nobody in: used, too old, or made up."""
    context = {"minutes": _minutes()}
    answer = render(request, "lifecycle/sign_in_link_spent.html", context, status=NO_SUCH_LINK)
    return _unlisted(answer)


def _unlisted(answer: HttpResponse) -> HttpResponse:
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


def _minutes() -> int:
    return int(LINK_LASTS.total_seconds() // 60)
