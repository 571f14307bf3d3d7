"""Leaving a garden, coming back, and being erased everywhere; each asks once more first."""

from datetime import datetime

from django.contrib.auth import logout
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from lifecycle.care.wording import short_date
from lifecycle.models import Membership, Person
from lifecycle.records.people.belongings import belongings_of
from lifecycle.records.people.erasing_asked import ask_to_be_erased, keep_account
from lifecycle.records.people.last_owner import is_last_owner
from lifecycle.records.people.leaving import WINDOW, come_back, leave
from lifecycle.records.people.memberships import LAST_OWNER, local_day
from lifecycle.records.refusal import Refused
from lifecycle.reminders.people.leaving import tell_who_left
from lifecycle.reminders.work.task_words import task_name
from lifecycle.web.door import attempt, enter, page, reader, refused_page
from lifecycle.web.forms.fields import PlainForm
from lifecycle.web.forms.leaving import LeaveForm, group_words
from lifecycle.web.people.farewell import ERASED, LEFT, farewell_address
from lifecycle.web.people.sure import sure


@require_http_methods(["GET", "HEAD", "POST"])
@sure
def leave_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what the reader has here, then ask once more, then leave."""
    member = enter(request, slug, "garden.leave")
    now = timezone.now()
    today = local_day(member.garden_id, now)
    owned = belongings_of(member, today)
    data = request.POST if request.method == "POST" else None
    form = LeaveForm(member, owned.groups, data)
    context = {
        "owned": owned,
        "tasks": [(task, task_name(task)) for task in owned.tasks],
        "groups": [(group, group_words(group, owned.groups)) for group in owned.groups],
        "form": form,
        "until": short_date(local_day(member.garden_id, now + WINDOW), today),
        "today": today,
        "last_owner": LAST_OWNER if is_last_owner(member) else "",
    }
    if data is not None and form.is_valid():
        if request.POST.get("confirm") != "1":
            return render(request, "lifecycle/leave_confirm.html", {**context, **_chosen(form)})
        if attempt(form, lambda: _left(member, form, now)) is not None:
            return _goodbye(request, member, now)
    return page(request, "leave.html", {**context, "bad_form": form if form.errors else None})


def _chosen(form: LeaveForm) -> dict[str, object]:
    passings = {passing.place: passing.to for passing in form.passings()}
    return {
        "fates": [
            (group_words(group, form.groups), passings.get(group.key)) for group in form.groups
        ],
        "nameless": form.nameless,
        "hidden": form.as_hidden(),
    }


def _left(member: Membership, form: LeaveForm, now: datetime) -> Membership:
    gone = leave(member, passings=form.passings(), nameless=form.nameless, now=now)
    tell_who_left(gone, now=now)
    return gone


def _goodbye(request: HttpRequest, member: Membership, now: datetime) -> HttpResponse:
    """Lead home; who belongs to no garden any more is signed out already."""
    here = Membership.objects.filter(person=member.person, left_on__isnull=True)
    if here.exists():
        return redirect("home")
    logout(request)
    return redirect(farewell_address(LEFT, local_day(member.garden_id, now + WINDOW)))


@require_POST
def come_back_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back having left a garden."""
    mine = Membership.objects.filter(person=reader(request)).select_related("garden")
    member = get_object_or_404(mine, pk=pk)
    if member.left_on is None:
        return redirect("today", member.garden.slug)
    if member.come_back_by is None:
        raise Http404("There is no garden to come back to here.")
    try:
        come_back(reader(request), member, now=timezone.now())
    except Refused as refusal:
        return refused_page(request, str(refusal), back=reverse("home"), back_label="your gardens")
    return redirect("today", member.garden.slug)


@require_http_methods(["GET", "HEAD", "POST"])
@sure
def erase_me(request: HttpRequest) -> HttpResponse:
    """Say what erasing means, ask once more, then leave everything; or take the wish back."""
    person = Person.objects.get(pk=reader(request).pk)
    now = timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if act == "keep":
        return _keep(request, person, now)
    form = PlainForm(request.POST if act == "erase" else None)
    if act == "erase" and attempt(form, lambda: _erased(person, now)) is not None:
        logout(request)
        return redirect(farewell_address(ERASED, (now + WINDOW).date()))
    here = Membership.objects.filter(person=person, left_on__isnull=True)
    members = list(here.select_related("garden").order_by("garden__name", "pk"))
    context = {
        "person": person,
        "members": members,
        "owned_alone": [member.garden for member in members if is_last_owner(member)],
        "asked": person.erase_after is not None,
        "sure_of_it": act == "confirm",
        "until": short_date((person.erase_after or now + WINDOW).date(), now.date()),
        "bad_form": form if form.errors else None,
    }
    return page(request, "erase_me.html", context)


def _erased(person: Person, now: datetime) -> Person:
    left = list(
        Membership.objects.filter(person=person, left_on__isnull=True).values_list("pk", flat=True)
    )
    done = ask_to_be_erased(person, now=now)
    for member in Membership.objects.filter(pk__in=left).select_related("garden", "person"):
        tell_who_left(member, now=now)
    return done


@require_POST
def keep_me(request: HttpRequest) -> HttpResponse:
    """Take back the wish to be erased."""
    return _keep(request, reader(request), timezone.now())


def _keep(request: HttpRequest, person: Person, now: datetime) -> HttpResponse:
    try:
        keep_account(person, now=now)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=reverse("home"), back_label="your gardens")
    return redirect("home")
