"""The people of a garden: who belongs to it, in which role, and how to reach them."""

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.care.skills import SKILLS
from lifecycle.models import BedHolding, Membership, Role
from lifecycle.permissions import can
from lifecycle.records.people import audit
from lifecycle.records.people.leaving import take_out
from lifecycle.records.people.memberships import change_role, check_may_take_out, note_waiver
from lifecycle.records.refusal import Refused
from lifecycle.web.door import (
    attempt,
    enter,
    first_site,
    form_page,
    garden_day,
    page,
    refused_page,
    rows,
)
from lifecycle.web.forms.people import RoleForm, WaiverForm
from lifecycle.web.people.people_table import ContactTable, PeopleTable
from lifecycle.web.people.sure import sure
from lifecycle.web.words import counted


@require_safe
def people(request: HttpRequest, slug: str) -> HttpResponse:
    """List who belongs to the garden; who leads sees contacts too."""
    member = enter(request, slug)
    leads = can(member, "people.read")
    found = of_garden(member).select_related("person").order_by("person__name", "pk")
    kind = ContactTable if leads else PeopleTable
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    if leads:
        audit.note_once_a_day(member, "roles_seen", now=now)
    table = kind.shown(request, found, today=today)
    context = {
        "heading": f"{counted(table.shown_page.paginator.count, 'person', 'people')} in the garden",
        "table": table,
        "said": _SAID.get(request.GET.get("said", ""), ""),
    }
    return page(request, "people.html", context)


_SAID = {"out": "They do not belong to the garden any more."}


@require_http_methods(["GET", "HEAD", "POST"])
def person(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show one person of the garden; a POST notes when they signed the waiver."""
    member = enter(request, slug, "people.edit" if request.method == "POST" else "garden.read")
    found = person_or_404(member, pk)
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    own, leads = found.pk == member.pk, can(member, "people.read")
    posted = request.POST if request.method == "POST" else None
    form = WaiverForm(posted, initial={"signed_on": found.waiver_signed_on})
    if posted is not None and form.is_valid():
        attempt(form, lambda: note_waiver(member, found, form.cleaned_data["signed_on"], now=now))
        if not form.errors:
            return redirect(f"{request.path}?said=waiver")
    if leads and not own:
        audit.note_once_a_day(member, "roles_seen", now=now, about=found.person)
    context = {
        "who": found,
        "own": own,
        "contacts": own or leads,
        "beds": _beds_of(member, found),
        "skills": [SKILLS[key] for key in found.skills if key in SKILLS],
        "may_take_out": _may_take_out(member, found),
        "form": form if can(member, "people.edit") else None,
        "bad_form": form if form.errors else None,
        "today": today,
        "said": _PERSON_SAID.get(request.GET.get("said", ""), ""),
    }
    return page(request, "people_person.html", context)


_PERSON_SAID = {"waiver": "The waiver is noted.", "role": "The role is changed, from now on."}


@sure
@require_http_methods(["GET", "HEAD", "POST"])
def person_role(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Give a member another role."""
    member = enter(request, slug, "role.edit")
    found = person_or_404(member, pk)
    posted = request.POST if request.method == "POST" else None
    form = RoleForm(posted, initial={"role": found.role})
    back = reverse("person", args=[slug, pk])
    if posted is not None and form.is_valid():
        role = form.cleaned_data["role"]
        attempt(form, lambda: change_role(member, found, role, now=timezone.now()))
        if not form.errors:
            return redirect(f"{back}?said=role")
    return form_page(
        request,
        form,
        heading=f"Role of {found.person}",
        button="Change the role",
        back=back,
        back_label=str(found.person),
        template="people_role.html",
        roles=ROLE_WORDS,
        who=found,
    )


ROLE_WORDS = {
    Role.MEMBER.label: "logs, does tasks, holds plants and beds.",
    Role.COORDINATOR.label: "also invites, shares out the work, sees contacts, leads frost nights.",
    Role.COMMITTEE.label: "reads everything but contacts, and the report; changes nothing.",
    Role.OWNER.label: "also gives roles, sets how people join, and sees who changed what.",
}
"""What each role does, in a line."""


@sure
@require_http_methods(["GET", "HEAD", "POST"])
def person_out(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Take somebody out of the garden, after a page that says what that means."""
    member = enter(request, slug, "people.edit")
    found = person_or_404(member, pk)
    back = reverse("person", args=[slug, pk])
    try:
        check_may_take_out(member, found)
        if request.method == "POST":
            take_out(member, found, now=timezone.now())
            return redirect(f"{reverse('people', args=[slug])}?said=out")
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label=str(found.person))
    return page(request, "people_out.html", {"who": found, "beds": _beds_of(member, found)})


def of_garden(member: Membership) -> QuerySet[Membership]:
    """Return the memberships of who belongs to the reader's garden today."""
    return rows(Membership, member).filter(left_on__isnull=True)


def person_or_404(member: Membership, pk: int) -> Membership:
    """Return the membership of a person who belongs to the garden today, by the person's number."""
    found = of_garden(member).select_related("person", "waiver_noted_by", "garden")
    return get_object_or_404(found, person__id=pk)


def _beds_of(member: Membership, found: Membership) -> list[BedHolding]:
    held = rows(BedHolding, member).filter(person_id=found.person_id, until__isnull=True)
    return list(held.select_related("place").order_by("place__position", "place__name", "pk"))


def _may_take_out(member: Membership, found: Membership) -> bool:
    try:
        check_may_take_out(member, found)
    except (Refused, PermissionDenied):
        return False
    return True
