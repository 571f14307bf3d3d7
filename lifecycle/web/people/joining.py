"""Coming into a garden: by the link of an invitation, or by the garden's own link.

Both addresses are secret, and opening them changes nothing: programs open every address in a
mail. A link that cannot be used gets one page and one status, whether it was ever good or not.
"""

from datetime import datetime, timedelta

from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from lifecycle.models import Invitation, Joining, Membership, Person
from lifecycle.permissions import ROLE_ACTIONS
from lifecycle.records.people import (
    allowance,
    join_link,
)
from lifecycle.records.people.accepting import has_account, join_as, join_as_new
from lifecycle.records.people.invitation_standing import Standing, standing_for_reader, why_not
from lifecycle.records.people.invitations import invitation_of
from lifecycle.records.people.memberships import local_day
from lifecycle.records.people.waiting import ask_to_wait
from lifecycle.reminders.people.letter_invitation import ROLES
from lifecycle.web.door import attempt, page, reader
from lifecycle.web.forms.people import AcceptForm, AskToJoinForm, JoinAsForm
from lifecycle.web.people import session
from lifecycle.web.people.asker import address_of
from lifecycle.web.people.sure import LINK

DEAD = 404
TOO_MANY = 429
ASKED_FROM_ONE_PLACE = 20
ASKED_OF_ONE_GARDEN = 200
"""How often a garden's link may be used from one place in an hour, and by all in a day."""
OTHER = "other"
"""The act of somebody who is signed in as another than the one invited."""


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def accept_invitation(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Show an invitation at its secret address; a POST joins."""
    now = timezone.now()
    invitation = invitation_of(pk, code)
    if invitation is None:
        return _dead(request, "")
    standing = standing_for_reader(invitation, now)
    if standing != Standing.WAITING:
        return _dead(request, why_not(standing), invitation)
    request.invented = invitation.garden.invented  # type: ignore[attr-defined]
    if request.user.is_authenticated:
        return _as_somebody(request, invitation, reader(request), now)
    if has_account(invitation.email):
        return _invitation_page(request, invitation, now, has_account=True)
    return _as_new(request, invitation, now)


def _as_new(request: HttpRequest, invitation: Invitation, now: datetime) -> HttpResponse:
    posted = request.POST if request.method == "POST" else None
    form = AcceptForm(invitation.garden, invitation.name, posted)
    if posted is not None and form.is_valid():
        given = form.cleaned_data
        member = attempt(
            form,
            lambda: join_as_new(
                invitation,
                name=given["name"],
                password=given["password"],
                safety_read=given.get("safety_read", False),
                now=now,
            ),
        )
        if member is not None:
            session.begin(request, member.person, own_device=given["own_device"], now=now, by=LINK)
            return redirect("welcome", member.garden.slug)
    return _invitation_page(request, invitation, now, form=form)


def _as_somebody(
    request: HttpRequest, invitation: Invitation, person: Person, now: datetime
) -> HttpResponse:
    """Let whoever is signed in join, and say who that is; or let them sign out first."""
    posted = request.POST if request.method == "POST" else None
    if posted is not None and posted.get("act") == OTHER:
        logout(request)
        return redirect(request.path)
    already = Membership.objects.filter(
        garden=invitation.garden, person=person, left_on__isnull=True
    ).exists()
    form = JoinAsForm(invitation.garden, person, posted)
    if posted is not None and form.is_valid():
        read = form.cleaned_data.get("safety_read", False)
        joined = attempt(form, lambda: join_as(invitation, person, safety_read=read, now=now))
        if joined is not None:
            return redirect("welcome", joined.garden.slug)
    return _invitation_page(
        request,
        invitation,
        now,
        form=form,
        person=person,
        already=already,
        is_theirs=person.email == invitation.email,
    )


def _invitation_page(
    request: HttpRequest, invitation: Invitation, now: datetime, **more: object
) -> HttpResponse:
    form = more.get("form")
    context = {
        "invitation": invitation,
        "role": ROLES[invitation.role],
        "leads": "people.read" in ROLE_ACTIONS[invitation.role],
        "until": local_day(invitation.garden_id, invitation.expires_at),
        "today": local_day(invitation.garden_id, now),
        "bad_form": form if isinstance(form, AcceptForm | JoinAsForm) and form.errors else None,
        **more,
    }
    return _unlisted(page(request, "invite_accept.html", context))


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def join(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Let somebody who has the garden's link ask to join, or to wait for a place.

    The answer is the same whatever the address: nobody learns who belongs to the garden.
    """
    garden = join_link.garden_of(pk, code)
    if garden is None:
        return _dead(request, "")
    now = timezone.now()
    waits = garden.joining == Joining.WAITING
    posted = request.POST if request.method == "POST" else None
    form = AskToJoinForm(waits=waits, data=posted, initial=_known(request))
    if posted is not None and form.is_valid():
        if not _may_ask(request, garden.pk, now):
            return render(request, "lifecycle/join_too_many.html", status=TOO_MANY)
        given = form.cleaned_data
        ask = ask_to_wait if waits else join_link.ask_to_join
        attempt(form, lambda: ask(garden, now=now, **given))
        if not form.errors:
            return redirect(f"{request.path}?asked=1")
    request.invented = garden.invented  # type: ignore[attr-defined]
    context = {
        "to_join": garden,
        "waits": waits,
        "asked": request.GET.get("asked") == "1",
        "form": form,
        "bad_form": form if form.errors else None,
    }
    return _unlisted(page(request, "join.html", context))


def _may_ask(request: HttpRequest, garden: int, now: datetime) -> bool:
    place = address_of(request) or "unknown"
    hour, day = timedelta(hours=1), timedelta(days=1)
    return allowance.spend(
        "join-place", place, most=ASKED_FROM_ONE_PLACE, per=hour, now=now
    ) and allowance.spend("join-garden", str(garden), most=ASKED_OF_ONE_GARDEN, per=day, now=now)


def _known(request: HttpRequest) -> dict[str, str]:
    if not request.user.is_authenticated:
        return {}
    person = reader(request)
    return {"name": person.name, "email": person.email}


def _dead(request: HttpRequest, why: str, invitation: Invitation | None = None) -> HttpResponse:
    """Render the one page of a link that cannot be used; ``why`` only to who has a right one."""
    context = {"why": why, "invitation": invitation}
    return _unlisted(render(request, "lifecycle/invite_dead.html", context, status=DEAD))


def _unlisted(answer: HttpResponse) -> HttpResponse:
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer
