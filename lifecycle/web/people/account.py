"""One's own account: who is there, asked again; the password; signing out everywhere."""

from typing import Any

from django.contrib.auth import authenticate, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from lifecycle.models import Person
from lifecycle.records.people.passwords import set_password
from lifecycle.records.people.sessions import end_all
from lifecycle.web.door import attempt, page, reader
from lifecycle.web.forms.account import AgainForm, PasswordForm
from lifecycle.web.people import session
from lifecycle.web.people.lock_out import locked_out, may_try, was_right
from lifecycle.web.people.own_path import own_path
from lifecycle.web.people.sign_in_link import mail_link
from lifecycle.web.people.sure import ask_again, is_sure, is_sure_by_link
from lifecycle.web.people.way_kept import NEXT

WRONG = "This is not your password. Try again, or have a link mailed to you."
BY_MAIL = "link"


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_again(request: HttpRequest) -> HttpResponse:
    """Ask for the password once more, or mail a link that does instead, and lead on."""
    person, now = _person(request), timezone.now()
    given = request.POST if request.method == "POST" else None
    back = own_path((given or request.GET).get(NEXT))
    by_mail = given is not None and given.get("act") == BY_MAIL
    has_password = person.has_usable_password()
    form = AgainForm(given if has_password and not by_mail else None)
    if by_mail:
        mail_link(request, person.email, back=back, now=now)
    elif form.is_valid():
        if not may_try(request, now):
            return locked_out(request)
        if _is_password(request, person, form.cleaned_data["password"]):
            own = bool(request.session.get(session.OWN_DEVICE))
            session.begin(request, person, own_device=own, now=now)
            return redirect(back or "home")
        form.add_error("password", WRONG)
    context = {
        "form": form if has_password else None,
        "bad_form": form if form.errors else None,
        "mailed": person.email if by_mail else "",
        "person": person,
        NEXT: back,
    }
    return page(request, "sign_in_again.html", context)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def change_password(request: HttpRequest) -> HttpResponse:
    """Set or change the password; other sessions end, this one stays.

    The old one is asked, unless there is none or a mailed link was used a moment ago: whoever
    forgot theirs comes in that way.
    """
    person, now = _person(request), timezone.now()
    has_password = person.has_usable_password()
    if not has_password and not is_sure(request, now):
        return ask_again(request)
    old_asked = has_password and not is_sure_by_link(request, now)
    form = PasswordForm(request.POST if request.method == "POST" else None, old_asked=old_asked)
    if form.is_valid():
        given = form.cleaned_data
        if old_asked and not may_try(request, now):
            return locked_out(request)
        if old_asked and not _is_password(request, person, given["old_password"]):
            form.add_error("old_password", WRONG)
        else:
            attempt(form, lambda: set_password(person, given["new_password"]))
        if not form.errors:
            update_session_auth_hash(request, person)
            return redirect(f"{reverse('settings')}?password=1#account")
    context = {
        "form": form,
        "bad_form": form if form.errors else None,
        "has_password": has_password,
    }
    return page(request, "change_password.html", context)


@require_POST
def sign_out_everywhere(request: HttpRequest) -> HttpResponse:
    """End every session of the reader, this one too."""
    end_all(_person(request))
    logout(request)
    return redirect(f"{reverse('sign-in')}?ended=1")


def part(request: HttpRequest, person: Person) -> dict[str, Any]:
    """Return what My settings shows of how the reader signs in."""
    return {
        "has_password": person.has_usable_password(),
        "changed": request.GET.get("password") == "1",
        "own_device": bool(request.session.get(session.OWN_DEVICE)),
    }


def _person(request: HttpRequest) -> Person:
    return Person.objects.get(pk=reader(request).pk)


def _is_password(request: HttpRequest, person: Person, password: str) -> bool:
    """Return whether it is; a wrong one counts as a failure to sign in."""
    found = authenticate(request, username=person.email, password=password)
    if found is None:
        return False
    was_right(request)
    return True
