"""Which plant is this: its doubts, how they were settled, and the way back."""

from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Membership, Plant, Swap
from lifecycle.records.crops.identity import doubt, settle_pair, settle_variety, swap_of, take_back
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    form_page,
    page,
    plant_or_404,
    rows,
)
from lifecycle.web.forms.identity import (
    NOT_SWAPPED,
    SWAPPED,
    VARIETY,
    DoubtForm,
    SettleForm,
    TakeBackForm,
)
from lifecycle.web.words import choice_of


@require_safe
def identity(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show what was doubted and settled of a plant, and which labels had been swapped."""
    member = enter(request, slug)
    found = plant_or_404(member, code)
    acts = _acts(member, found).select_related("by", "variety", "other", "strike__by")
    context = {
        "plant": found,
        "today": found.site.local_day(timezone.now()),
        "acts": [{"entry": act, "how": choice_of(act).lower()} for act in acts],
        "swaps": [_swap_words(found, swap) for swap in _swaps(member, found)],
        "saved": request.GET.get("saved") == "1",
    }
    return page(request, "identity.html", context)


def _acts(member: Membership, found: Plant) -> Any:
    return (
        rows(Entry, member)
        .filter(plant=found, kind__in=[Kind.IN_DOUBT, Kind.SETTLED])
        .order_by("-happened_on", "-stands_at", "-pk")
    )


def _swaps(member: Membership, found: Plant) -> QuerySet[Swap]:
    return (
        rows(Swap, member)
        .filter(Q(first=found) | Q(second=found), strike__isnull=True)
        .select_related("first", "second", "settled_by")
        .order_by("at", "pk")
    )


def _swap_words(found: Plant, swap: Swap) -> dict[str, Any]:
    other = swap.second if swap.first_id == found.pk else swap.first
    return {"other": other, "since": swap.since, "until": swap.until, "by": swap.settled_by}


@require_http_methods(["GET", "HEAD", "POST"])
def doubt_page(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Write down that nobody is sure which plant this is."""
    member = enter(request, slug, "entry.log")
    found = plant_or_404(member, code)
    now = timezone.now()
    data = request.POST if request.method == "POST" else None
    form = DoubtForm(member, found.site.local_day(now), data)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: doubt(member, found, now=now, **form.cleaned_data))
        if made is not None:
            return _done(slug, [found, form.cleaned_data["other"]], now)
    return form_page(
        request,
        form,
        heading=f"Not sure which plant this is: {found}",
        button="Save the doubt",
        lead="The doubt stays on the plant until its fruit, its flower or your notes settle it.",
        back=_address(slug, found),
        back_label=f"which plant is {found}",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def settle_page(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Settle which plant this is: by its label, another variety, or a swap of two."""
    member = enter(request, slug, "entry.log")
    found = plant_or_404(member, code)
    now = timezone.now()
    data = request.POST if request.method == "POST" else None
    form = SettleForm(member, found, _doubted_with(member, found), found.site.local_day(now), data)
    if data is not None and form.is_valid():
        made = attempt(form, lambda: _settle(member, found, dict(form.cleaned_data), now))
        if made is not None:
            return _done(slug, made, now)
    return form_page(
        request,
        form,
        heading=f"Settle which plant this is: {found}",
        button="Save what it is",
        lead="No entry is rewritten. Where two had swapped, what was logged under each label in "
        "that time counts for the other plant from now on. Put the labels right as well.",
        back=_address(slug, found),
        back_label=f"which plant is {found}",
    )


def _doubted_with(member: Membership, found: Plant) -> Plant | None:
    """Return the other plant of the last doubt that stands, if it named one."""
    last = _acts(member, found).filter(strike__isnull=True).select_related("other").first()
    return last.other if last is not None and last.kind == Kind.IN_DOUBT else None


def _settle(
    member: Membership, found: Plant, typed: dict[str, Any], now: datetime
) -> list[Plant | None]:
    """Run the verb that the answer asks for; returns the plants it concerns."""
    answer, other = typed.pop("answer"), typed.pop("other")
    variety, since, until = (typed.pop(name) for name in ("variety", "since", "until"))
    if answer in (NOT_SWAPPED, SWAPPED):
        if answer == NOT_SWAPPED:
            since = until = None
        settle_pair(member, found, other, since=since, until=until, now=now, **typed)
        return [found, other]
    chosen = variety if answer == VARIETY else None
    settle_variety(member, found, variety=chosen, now=now, **typed)
    return [found]


@require_http_methods(["GET", "HEAD", "POST"])
def take_back_page(request: HttpRequest, slug: str, code: str, pk: int) -> HttpResponse:
    """Take back a doubt or a settlement that was written on two plants."""
    member = enter(request, slug, "entry.strike_own")
    found = plant_or_404(member, code)
    acts = _acts(member, found).filter(other__isnull=False, strike__isnull=True)
    entry = get_object_or_404(acts.select_related("plant__site", "other__site"), pk=pk)
    now = timezone.now()
    form = TakeBackForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        attempt(form, lambda: take_back(member, entry, reason, now=now))
        if not form.errors:
            return _done(slug, [found, entry.other], now)
    swapped = swap_of(entry) is not None
    return form_page(
        request,
        form,
        heading=f"Take back: {found} and {entry.other}",
        button="Take it back",
        lead="Both entries are struck through and stay readable."
        + (" Every entry counts again for the plant it counted for before." if swapped else ""),
        back=_address(slug, found),
        back_label=f"which plant is {found}",
    )


def _address(slug: str, found: Plant) -> str:
    return reverse("identity", args=[slug, found.code])


def _done(slug: str, plants: list[Plant | None], now: datetime) -> HttpResponse:
    concerned = [plant for plant in plants if plant is not None]
    after_write(concerned, now)
    return redirect(f"{_address(slug, concerned[0])}?saved=1")
