"""What every page does on the way in and out: who asks, may they, what follows a write."""

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from typing import Any, TypeVar, cast
from urllib.parse import urlencode

from django import forms
from django.db import transaction
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from lifecycle.models import Entry, Garden, Membership, Person, Place, Plant, Site, Sowing, Task
from lifecycle.permissions import membership_or_404, require
from lifecycle.records.refusal import Refused
from lifecycle.reminders.work.worklist import refresh

Row = TypeVar("Row", bound=Model)
Made = TypeVar("Made")

UNREADABLE = 422
"""Status of a page that shows a form again because something in it was refused."""


def reader(request: HttpRequest) -> Person:
    """Return the person who is signed in."""
    return cast(Person, request.user)


def enter(request: HttpRequest, slug: str, action: str = "garden.read") -> Membership:
    """Return the reader's membership of the garden at ``slug``.

    Raises Http404 for outsiders and PermissionDenied for a role that may not do
    ``action``. The membership is left on the request for the page's header.
    """
    member = membership_or_404(reader(request), slug)
    request.member = member  # type: ignore[attr-defined]
    require(member, action)
    return member


def rows(model: type[Row], member: Membership) -> QuerySet[Row]:
    """Return the rows of the member's garden that they may see."""
    visible = cast(Any, model)._default_manager.visible_to(member.person)
    return cast("QuerySet[Row]", visible.filter(garden_id=member.garden_id))


def plant_or_404(member: Membership, code: str) -> Plant:
    """Return the plant with this label code."""
    found = rows(Plant, member).select_related(
        "site", "variety", "place", "holder", "sowing", "parent"
    )
    return get_object_or_404(found, code=code.upper())


def sowing_or_404(member: Membership, code: str) -> Sowing:
    """Return the sowing with this label code."""
    found = rows(Sowing, member).select_related("site", "variety", "lot", "place", "holder")
    return get_object_or_404(found, code=code.upper())


def place_or_404(member: Membership, pk: int) -> Place:
    """Return a place of the garden."""
    return get_object_or_404(rows(Place, member).select_related("site"), pk=pk)


def site_or_404(member: Membership, pk: int) -> Site:
    """Return a site of the garden."""
    return get_object_or_404(rows(Site, member), pk=pk)


def task_or_404(member: Membership, pk: int) -> Task:
    """Return a task of the garden with all its page shows."""
    found = rows(Task, member).select_related(
        "site",
        "plant__variety",
        "plant__place",
        "plant__site",
        "sowing__variety",
        "sowing__place",
        "sowing__site",
        *("plant__holder", "sowing__holder"),
        *("chore__place", "chore__plant__place", "chore__plant__holder"),
        "assignee",
        "closed_by",
        "entry",
    )
    return get_object_or_404(found, pk=pk)


def entry_or_404(member: Membership, pk: int) -> Entry:
    """Return an entry of the garden with all its page shows."""
    found = rows(Entry, member).select_related(
        *("plant__variety", "plant__site", "sowing__variety", "sowing__site"),
        *("by", "place", "holder", "variety", "other"),
    )
    return get_object_or_404(found, pk=pk)


def first_site(garden: Garden) -> Site | None:
    """Return the site whose calendar the garden's own pages follow."""
    return garden.sites.order_by("pk").first()


def garden_day(site: Site | None, now: datetime) -> date:
    """Return the local day at ``site``; a garden without ground keeps to UTC."""
    return site.local_day(now) if site is not None else now.astimezone(UTC).date()


def after_write(records: Iterable[Plant | Sowing], now: datetime) -> None:
    """Bring the tasks of these records up to date; every page that writes ends with it."""
    refresh(list(records), now=now)


def attempt(form: forms.Form, verb: Callable[[], Made]) -> Made | None:
    """Run ``verb``; a refusal goes to the form, at its field, and None comes back.

    What was written before the refusal, such as a new variety, is taken back with it.
    """
    try:
        with transaction.atomic():
            return verb()
    except Refused as refusal:
        field = refusal.field if refusal.field in form.fields else None
        form.add_error(field, str(refusal))
        return None


def page(request: HttpRequest, template: str, context: dict[str, Any]) -> HttpResponse:
    """Render a page; one with a refused form carries its own status."""
    bad = context.get("bad_form") is not None
    return render(request, f"lifecycle/{template}", context, status=UNREADABLE if bad else 200)


def form_page(
    request: HttpRequest,
    form: forms.Form,
    *,
    heading: str,
    button: str,
    back: str,
    back_label: str,
    template: str = "form_page.html",
    **more: Any,
) -> HttpResponse:
    """Render a page that is one form."""
    context = {
        "form": form,
        "bad_form": form if form.errors else None,
        "heading": heading,
        "button": button,
        "back": back,
        "back_label": back_label,
        **more,
    }
    return page(request, template, context)


def refused_page(
    request: HttpRequest, sentence: str, *, back: str, back_label: str
) -> HttpResponse:
    """Render why something was not written where no form is left to show it beside."""
    context = {"sentence": sentence, "back": back, "back_label": back_label}
    return render(request, "lifecycle/refused.html", context, status=UNREADABLE)


def way_back(text: str, slug: str) -> tuple[str, str]:
    """Return where a form on several pages leads back to: its address and its name."""
    name, _, pk = text.partition("-")
    if name == "bed" and pk.isascii() and pk.isdigit() and len(pk) < 10:
        return reverse("bed", args=[slug, int(pk)]), "the bed"
    if name == "tasks":
        return reverse("tasks", args=[slug]), "Tasks"
    return reverse("today", args=[slug]), "Today"


def record_url(record: Plant | Sowing, slug: str, **query: object) -> str:
    """Return the address of a plant's or a sowing's page."""
    name = "sowing" if isinstance(record, Sowing) else "plant"
    address = reverse(name, args=[slug, record.code])
    return f"{address}?{urlencode(query)}" if query else address


def number_in(request: HttpRequest, name: str, low: int = 1, high: int = 10**9) -> int | None:
    """Return a whole number from the address, or None for anything else."""
    text = request.GET.get(name, "")
    if not (text.isascii() and text.isdigit() and len(text) <= 10):
        return None
    value = int(text)
    return value if low <= value <= high else None
