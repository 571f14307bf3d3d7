"""What the pages of a plant and of a sowing share: status line, sentence, record."""

from collections.abc import Iterable
from datetime import date
from itertools import groupby
from typing import Any
from uuid import uuid4

from django.http import HttpRequest

from lifecycle.care.plan import next_of_each
from lifecycle.life.fold import Life
from lifecycle.life.phases import ROUTE_LABELS, Phase
from lifecycle.models import Entry, Membership, Plant, Sowing, Task
from lifecycle.records.crops.swaps import entries_of
from lifecycle.records.people.handing_load import giver_of
from lifecycle.reminders.work.planning import ClimateInUse, ground_of, seed_of, steps_of
from lifecycle.web.door import number_in, rows
from lifecycle.web.words import day_words, phase_words
from lifecycle.web.work.done_words import done_words

Record = Plant | Sowing
SHOWN_ENTRIES = 20


def form_number() -> str:
    """Return a fresh id for a form that a page writes out itself."""
    return str(uuid4())


def standing_words(record: Record, life: Life, today: date) -> str:
    """Return the sentence under a record's name: where it stands, who holds it, its phase."""
    where = f"{record.place}, {record.site}." if record.place else f"{record.site}, no place noted."
    holder = "Nobody holds it."
    if record.holder:
        gone = "" if giver_of(record) else ", who left"
        holder = f"Held by {record.holder}{gone}."
    phase = f"{phase_words(record.phase)} since {day_words(record.phase_since, today)}."
    if life.phase is Phase.ENDED and life.ended_how:
        phase = f"Ended on {day_words(record.phase_since, today)}."
    route = ""
    if life.alive and life.route is not None and life.subject == "plant":
        route = f" Winter: {ROUTE_LABELS[life.route].lower()}."
    pair = "A pair grown together. " if life.count > 1 else ""
    doubt = " Not sure which plant this is." if life.in_doubt and life.alive else ""
    return f"{pair}{where} {holder} {phase}{route}{doubt}"


def coming(
    record: Record, life: Life, climate: ClimateInUse, today: date, due: Iterable[Task]
) -> dict[str, Any]:
    """Return what comes next beside what is due already, and on which climate it rests."""
    taken = {(task.kind, task.growing_year, task.number) for task in due}
    ground, seed = ground_of(record.place, record.site), seed_of(record, today)
    steps = next_of_each(steps_of(record, life, climate, today, ground, None, seed))
    return {
        "steps": [step for step in steps if step.identity not in taken],
        "planned": climate.dates is not None,
        "basis": climate.basis,
    }


def saved_words(request: HttpRequest, member: Membership, record: Record) -> dict[str, Any] | None:
    """Return what the status line says after a write: the entry, and whether it was new."""
    pk = number_in(request, "saved") or number_in(request, "struck")
    if pk is None:
        return {"done": True} if request.GET.get("done") == "1" else None
    own = entries_of(record).visible_to(member.person)
    found = own.filter(pk=pk).select_related("strike").first()
    if found is None:
        return None
    return {
        "entry": found,
        "struck": getattr(found, "strike", None) is not None,
        "again": request.GET.get("again") == "1",
    }


def batch_of(member: Membership, found: Entry) -> list[Entry]:
    """Return the entries written by the same tap: same person, instant and kind."""
    return list(
        rows(Entry, member)
        .filter(
            by=found.by_id,
            received_at=found.received_at,
            kind=found.kind,
            happened_on=found.happened_on,
        )
        .select_related("plant__site", "sowing__site", "strike")
        .order_by("pk")
    )


def saved_several(request: HttpRequest, member: Membership) -> dict[str, Any] | None:
    """Return what the status line of a list says after one tap wrote for several records."""
    told = done_words(request, member)
    pk = number_in(request, "saved") or number_in(request, "struck")
    if pk is None:
        nothing = request.GET.get("nothing") == "1"
        return {"nothing": nothing, **told} if nothing or told else None
    found = rows(Entry, member).filter(pk=pk, by=member.person).first()
    if found is None:
        return told or None
    batch = batch_of(member, found)
    return {
        **told,
        "entry": batch[0],
        "number": len(batch),
        "struck": all(getattr(each, "strike", None) for each in batch),
    }


def history(request: HttpRequest, record: Record) -> dict[str, Any]:
    """Return the record, newest first, grouped by year; struck entries stay readable."""
    entries = (
        entries_of(record)
        .select_related(
            *("by", "place", "holder", "variety", "other", "plant", "strike__by", "replaced_by")
        )
        .order_by("-happened_on", "-stands_at", "-pk")
    )
    whole = request.GET.get("record") == "all"
    found = list(entries if whole else entries[: SHOWN_ENTRIES + 1])
    shown = found if whole else found[:SHOWN_ENTRIES]
    years = [
        (year, list(group))
        for year, group in groupby(shown, key=lambda each: each.happened_on.year)
    ]
    return {"years": years, "earlier": len(found) > len(shown)}
