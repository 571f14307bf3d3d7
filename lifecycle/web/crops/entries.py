"""Log one entry, and look at, strike or correct one that stands."""

from dataclasses import replace
from datetime import timedelta

from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.life.kinds import Kind, KindRule, rule_for
from lifecycle.models import Entry, Membership, Plant, Strike
from lifecycle.permissions import can
from lifecycle.records.crops import ledger
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import correct, log, strike
from lifecycle.records.crops.swaps import owner_id
from lifecycle.records.refusal import Refused
from lifecycle.web.crops.buttons import act_id, cautions_of
from lifecycle.web.crops.records import Record, batch_of
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    entry_or_404,
    form_page,
    page,
    plant_or_404,
    record_url,
    refused_page,
    rows,
    sowing_or_404,
    way_back,
)
from lifecycle.web.forms.entries import CorrectForm, EntryForm, StrikeForm, as_typed

UNDO_WITHIN = timedelta(hours=24)
"""Undo is for a slip of the thumb; an older entry is struck through on its own page."""


def kind_or_404(text: str, record: Record) -> KindRule:
    """Return the rule of a kind that may be logged by hand on this record."""
    try:
        rule = rule_for(Kind(text), ledger.subject_of(record))
    except (ValueError, KeyError):
        raise Http404("There is no such kind of entry here.") from None
    if not rule.by_hand:
        raise Http404("This kind of entry is written together with another act.")
    return rule


@require_http_methods(["GET", "HEAD", "POST"])
def log_plant(request: HttpRequest, slug: str, code: str, kind: str) -> HttpResponse:
    """Log one entry of a plant: at once when nothing more is needed, else by a short form."""
    member = enter(request, slug, "entry.log")
    return _log(request, member, plant_or_404(member, code), kind)


@require_http_methods(["GET", "HEAD", "POST"])
def log_sowing(request: HttpRequest, slug: str, code: str, kind: str) -> HttpResponse:
    """Log one entry of a sowing."""
    member = enter(request, slug, "entry.log")
    return _log(request, member, sowing_or_404(member, code), kind)


@require_http_methods(["GET", "HEAD", "POST"])
def move(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Move a plant to another place."""
    member = enter(request, slug, "entry.log")
    return _log(request, member, plant_or_404(member, code), Kind.MOVED)


def _log(request: HttpRequest, member: Membership, record: Record, kind: str) -> HttpResponse:
    now = timezone.now()
    rule = kind_or_404(kind, record)
    slug = member.garden.slug
    data = request.POST if request.method == "POST" else None
    chosen = request.GET.get("choice", "")
    initial = {"choice": chosen} if chosen in rule.choices else None
    form = EntryForm(rule, member, record.site.local_day(now), data, initial=initial)
    if data is not None and form.is_valid():
        entry_id = act_id(form.cleaned_data["uuid"], record.code, rule.kind)
        logged = attempt(form, lambda: log(member, record, form.draft(entry_id), now=now))
        if logged is not None:
            after_write([record], now)
            more = {} if logged.created else {"again": 1}
            return redirect(record_url(record, slug, saved=logged.entry.pk, **more))
    return form_page(
        request,
        form,
        heading=f"{rule.label}: {record}",
        button=f"Save “{rule.label}”",
        back=record_url(record, slug),
        back_label=str(record),
        cautions=cautions_of([rule.kind]),
    )


@require_http_methods(["GET", "HEAD", "POST"])
def entry(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show an entry with its corrections; strike it, correct it, or undo it."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "entry.strike_own")
    found = entry_or_404(member, pk)
    now = timezone.now()
    act = request.POST.get("act") if request.method == "POST" else None
    if act == "undo":
        return _undo(request, member, found)
    record = _record_of(found)
    owner = _whose(member, found, record)
    today = record.site.local_day(now)
    rule = rule_for(Kind(found.kind), ledger.subject_of(record))
    correction = CorrectForm(
        rule, member, today, request.POST if act == "correct" else None, initial=as_typed(found)
    )
    striking = StrikeForm(request.POST if act == "strike" else None, prefix="strike")
    if act == "correct" and correction.is_valid():
        draft = _corrected(found, correction, rule)
        why = correction.cleaned_data["reason"]
        new = attempt(correction, lambda: correct(member, found, draft, why, now=now))
        if new is not None:
            whose = _whose(member, new, record)
            after_write({record, owner, whose}, now)
            return redirect(record_url(whose, slug, saved=new.pk))
    if act == "strike" and striking.is_valid():
        why = striking.cleaned_data["reason"]
        if attempt(striking, lambda: strike(member, found, why, now=now)) is not None:
            after_write({record, owner}, now)
            return redirect(record_url(owner, slug, struck=found.pk))
    bad = next((form for form in (correction, striking) if form.errors), None)
    context = {
        "entry": found,
        "record": owner,
        "record_url": record_url(owner, slug),
        "logged_under": record.code if owner != record else "",
        "strike": Strike.objects.filter(entry=found).select_related("by").first(),
        "chain": _chain(member, found),
        "correction": correction,
        "striking": striking,
        "bad_form": bad,
        "today": today,
        "may_change": _may_change(member, found) and found.other_id is None,
    }
    return page(request, "entry.html", context)


def _record_of(found: Entry) -> Record:
    record = found.plant or found.sowing
    assert record is not None
    return record


def _whose(member: Membership, found: Entry, record: Record) -> Record:
    """Return the record that an entry belongs to now: labels may have been swapped."""
    owner = owner_id(found)
    return (
        record if owner == record.pk else rows(Plant, member).select_related("site").get(pk=owner)
    )


def _may_change(member: Membership, found: Entry) -> bool:
    own = found.by_id == member.person_id and can(member, "entry.strike_own")
    return own or can(member, "entry.strike_any")


def _corrected(found: Entry, form: CorrectForm, rule: KindRule) -> Draft:
    """Return the correction; what its form does not ask for stays as it was."""
    draft = form.draft()
    kept: dict[str, object] = {"holder": found.holder, "material": found.material}
    if "quantity" not in form.fields:
        kept["quantity"] = found.quantity
    if "choice" not in form.fields:
        kept["choice"] = found.choice
    if "place" not in form.fields:
        kept["place"] = found.place
    return replace(draft, kind=rule.kind, **kept)  # type: ignore[arg-type]


def _chain(member: Membership, found: Entry) -> list[Entry]:
    """Return the entries that replaced one another around ``found``, oldest first."""
    siblings = rows(Entry, member).filter(plant=found.plant, sowing=found.sowing)
    by_old = {
        each.replaces_id: each
        for each in siblings.filter(replaces__isnull=False).select_related("by", "place", "holder")
    }
    chain = [found]
    while chain[0].replaces_id is not None:
        chain.insert(
            0, siblings.select_related("by", "place", "holder").get(pk=chain[0].replaces_id)
        )
    while chain[-1].pk in by_old:
        chain.append(by_old[chain[-1].pk])
    return chain if len(chain) > 1 else []


def _undo(request: HttpRequest, member: Membership, found: Entry) -> HttpResponse:
    """Strike all that one tap wrote, and go back to where it was tapped."""
    now = timezone.now()
    batch = batch_of(member, found)
    record = _record_of(found)
    slug = member.garden.slug
    if now - found.received_at > UNDO_WITHIN:
        return refused_page(
            request,
            "Undo is for what was just tapped. Open the entry and strike it through instead.",
            back=reverse("entry", args=[slug, found.pk]),
            back_label="the entry",
        )
    back = request.POST.get("back", "")
    try:
        with transaction.atomic():
            for each in batch:
                strike(member, each, "Undone", now=now)
    except Refused as refusal:
        return refused_page(
            request, str(refusal), back=record_url(record, slug), back_label=str(record)
        )
    after_write([_whose(member, each, _record_of(each)) for each in batch], now)
    if back:
        return redirect(f"{way_back(back, slug)[0]}?struck={found.pk}")
    return redirect(record_url(record, slug, struck=found.pk))
