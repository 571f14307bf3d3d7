"""Inviting: one person, or many from a list; and every invitation with where it stands."""

from dataclasses import dataclass
from datetime import datetime

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.wording import short_date
from lifecycle.models import Invitation, Role, Site
from lifecycle.permissions import can
from lifecycle.records.people.invitation_list import Report, invite_list
from lifecycle.records.people.invitation_standing import LASTS, Standing, standing_of
from lifecycle.records.people.invitations import invite, send_again, take_back
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
from lifecycle.web.forms.people import InviteForm, InviteListForm
from lifecycle.web.people.sure import ask_again, is_sure
from lifecycle.web.words import counted

PER_PAGE = 50
_ASK_FIRST = (
    "It is some time since you showed who you are, and nobody is invited yet. Show it again by the "
    "link above this form, then invite into this role."
)
AGAIN = "again"
LIST = "list"
"""The act of sending a list; anything else sends the form for one person."""


@dataclass(frozen=True, slots=True)
class Shown:
    """An invitation of the list, with where it stands in words."""

    invitation: Invitation
    standing: Standing
    words: str


@require_http_methods(["GET", "HEAD", "POST"])
def invite_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the forms and every invitation; a POST invites one person, or everybody of a list."""
    member = enter(request, slug, "people.invite")
    now = timezone.now()
    posted = request.POST if request.method == "POST" else None
    is_asked = can(member, "role.edit") and not is_sure(request, now)
    many = posted is not None and posted.get("act") == LIST
    # A form that was filled in while it was known who is there shows all of it again.
    gives_roles = not is_asked or (posted is not None and "one-role" in posted)
    one = InviteForm(member, None if many else posted, gives_roles=gives_roles)
    listed = InviteListForm(posted if many else None)
    report: Report | None = None
    if many and listed.is_valid():
        text = listed.cleaned_data["people"]
        report = attempt(listed, lambda: invite_list(member, text, now=now))
    elif posted is not None and not many and one.is_valid():
        if is_asked and one.cleaned_data.get("role", Role.MEMBER) != Role.MEMBER:
            one.add_error("role", _ASK_FIRST)
        else:
            attempt(one, lambda: invite(member, now=now, **one.cleaned_data))
    bad = next((form for form in (one, listed) if form.errors), None)
    if posted is not None and bad is None and (report is None or not report.problems):
        number = len(report.invited) if report is not None else 1
        return redirect(f"{request.path}?invited={number}")
    if report is not None and bad is None:
        listed = _mending(report)
        bad = listed if listed.errors else None
    invitations = rows(Invitation, member).select_related("used_by", "made_by", "garden")
    shown = Paginator(invitations, PER_PAGE).get_page(number_in(request, "page") or 1)
    site = first_site(member.garden)
    context = {
        "one": one,
        "listed": listed,
        "report": report,
        "bad_form": bad,
        "is_asked": is_asked,
        "invited": number_in(request, "invited", high=1000),
        "shown": shown,
        "invitations": [described(each, site, now) for each in shown],
        "days": LASTS.days,
    }
    return page(request, "invite.html", context)


def _mending(report: Report) -> InviteListForm:
    """Return the list's form, with the lines that are left to mend and a sentence about them."""
    if not report.to_mend:
        return InviteListForm()
    left = InviteListForm({"list-people": report.to_mend})
    left.full_clean()
    number = len([each for each in report.problems if each.mend])
    left.add_error(
        "people",
        f"{counted(number, 'line')} could not be used. They stand here again: mend them and send "
        "them once more.",
    )
    return left


@require_http_methods(["GET", "HEAD", "POST"])
def invitation(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show one invitation and its letters; a POST sends it again or takes it back."""
    member = enter(request, slug, "people.invite")
    found = get_object_or_404(
        rows(Invitation, member).select_related("garden", "place", "made_by", "used_by"), pk=pk
    )
    now = timezone.now()
    if request.method == "POST":
        acts = {AGAIN: send_again, "take_back": take_back}
        act = request.POST.get("act", "")
        gives_role = found.role != Role.MEMBER and can(member, "role.edit")
        if act == AGAIN and gives_role and not is_sure(request, now):
            return ask_again(request)
        try:
            if act not in acts:
                raise Refused("This form was not understood. Load the page again.")
            acts[act](member, found, now=now)
        except Refused as refusal:
            return refused_page(
                request, str(refusal), back=request.path, back_label="the invitation"
            )
        return redirect(f"{request.path}?said={act}")
    site = first_site(member.garden)
    context = {
        "shown": described(found, site, now),
        "invitation": found,
        "waits": standing_of(found, now) == Standing.WAITING,
        "open": found.used_at is None and found.revoked_at is None,
        "may_change": found.role == Role.MEMBER or can(member, "role.edit"),
        "letters": [
            (letter, short_date(garden_day(site, letter.made_at), garden_day(site, now)))
            for letter in found.letters.order_by("-made_at", "-pk")[:10]
        ],
        "said": _SAID.get(request.GET.get("said", ""), ""),
        "days": LASTS.days,
    }
    return page(request, "invite_one.html", context)


_SAID = {
    AGAIN: "A new letter is on its way. The link in the earlier one works no more.",
    "take_back": "The invitation is taken back. Its link works no more.",
}


def described(invitation: Invitation, site: Site | None, now: datetime) -> Shown:
    """Return an invitation with where it stands, in words."""
    standing = standing_of(invitation, now)
    today = garden_day(site, now)

    def on(at: datetime | None) -> str:
        return short_date(garden_day(site, at), today) if at is not None else ""

    words = {
        Standing.WAITING: f"waiting, sent {on(invitation.sent_at)}, good until "
        f"{on(invitation.expires_at)}",
        Standing.USED: f"used on {on(invitation.used_at)} by {invitation.used_by}",
        Standing.TAKEN_BACK: f"taken back on {on(invitation.revoked_at)}",
        Standing.EXPIRED: f"expired on {on(invitation.expires_at)}, not used",
    }
    return Shown(invitation, standing, words[standing])
