"""The hand-over sheet: what somebody new to these beds and plants has to know, on paper too."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.life.phases import PHASE_LABELS, Phase
from lifecycle.models import HandOver, Membership, Person, Plant
from lifecycle.permissions import can
from lifecycle.records.nights.rota import leads_of
from lifecycle.records.people.belongings import Group, groups_of
from lifecycle.reminders.people.hand_over_sheet import (
    AHEAD,
    TOLD,
    SheetPlace,
    SheetRow,
    phases_of,
    sheet_of,
)
from lifecycle.reminders.people.handing_words import passing_words, with_items
from lifecycle.web.door import enter, first_site, garden_day, number_in, page, record_url, rows
from lifecycle.web.words import counted, day_words

IN_PLAIN_WORDS: dict[Phase, str] = {
    Phase.PLANNED: "meant to be sown, not sown yet",
    Phase.SOWN: "seed is in, nothing has come up yet",
    Phase.SEEDLING: "young plants raised under cover",
    Phase.HARDENING: "getting used to wind and sun before planting out",
    Phase.ESTABLISHING: "planted out lately, still rooting",
    Phase.GROWING: "growing where it stands",
    Phase.BEARING: "flowering or carrying fruit",
    Phase.RESTING: "alive but without leaves; it may look dead, so leave it in place",
    Phase.WAKING: "making its first shoots after the rest",
}
"""What each word for a stage of life means."""
LAST_WORDS = ("Last cut back", "Last fed", "Last watered")


@require_safe
def hand_over_sheet(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the sheet of what the reader looks after, or of one hand-over."""
    member = enter(request, slug)
    today = garden_day(first_site(member.garden), timezone.now())
    lead, person, groups = _asked_for(request, member, today)
    sheet = sheet_of(groups, person, today, reader=member)
    context = {
        "lead": lead,
        "heading": _heading(sheet),
        "sheet": [(place, [_row(row, slug, today) for row in place.rows]) for place in sheet],
        "last": LAST_WORDS,
        "glossary": [(PHASE_LABELS[each], IN_PLAIN_WORDS[each]) for each in phases_of(sheet)],
        "leads": leads_of(member.garden_id),
        "until": today + AHEAD,
        "today": today,
    }
    return page(request, "hand_over_sheet.html", context)


def _asked_for(
    request: HttpRequest, member: Membership, today: date
) -> tuple[str, Person, list[Group]]:
    """Return what the sheet is about; raises Http404 for a hand-over that is none of theirs."""
    if "hand_over" not in request.GET:
        return "", member.person, groups_of(member.garden_id, member.person)
    found = get_object_or_404(
        with_items(rows(HandOver, member)), pk=number_in(request, "hand_over") or 0
    )
    party = member.person_id in (found.by_id, found.giver_id, found.to_id)
    if not party and not can(member, "hand_over.lead"):
        raise Http404("This sheet is for those who hand over and take over.")
    return passing_words(found, today), found.giver or found.to, groups_passing(found)


def groups_passing(found: HandOver) -> list[Group]:
    """Return what a hand-over passes on, by place, where it stands today."""
    items = list(
        found.items.select_related(
            *("plant__variety", "plant__site", "plant__place__site", "place__site"),
            *("sowing__variety", "sowing__site", "sowing__place__site"),
        ).order_by("pk")
    )
    groups: dict[int, Group] = {}
    for item in items:
        record = item.plant or item.sowing
        place = item.place if record is None else record.place
        group = groups.setdefault(0 if place is None else place.pk, Group(place))
        if item.place is not None:
            group.holds = True
        elif item.plant is not None:
            group.plants.append(item.plant)
        elif item.sowing is not None:
            group.sowings.append(item.sowing)
    return list(groups.values())


def _heading(sheet: list[SheetPlace]) -> str:
    records = [row.record for place in sheet for row in place.rows]
    unseen = sum(place.unseen for place in sheet)
    if not sheet:
        return "Hand-over sheet: nothing is in your hands"
    plants = sum(isinstance(record, Plant) for record in records)
    parts = [counted(plants, "plant")] if plants or not records else []
    if len(records) > plants:
        parts.append(counted(len(records) - plants, "sowing"))
    said = " and ".join(parts)
    if unseen:
        said += f", {unseen} resting and maybe not visible"
    return f"Hand-over sheet: {said}"


def _row(row: SheetRow, slug: str, today: date) -> tuple[SheetRow, str, list[tuple[str, str]]]:
    last = [day_words(row.last[kind], today) if kind in row.last else "" for kind in TOLD]
    return row, record_url(row.record, slug), list(zip(LAST_WORDS, last, strict=True))
