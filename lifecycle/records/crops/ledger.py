"""Reading a record's entries as facts, writing drafts, and keeping the projection equal.

Every verb that touches entries goes through here: lock the record's row, fold what stands
with what is new, refuse what cannot follow, write, and set the projection in the same
transaction.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, TypeVar, cast

from django.db.models import Exists, F, Manager, OuterRef, QuerySet

from lifecycle.life.fold import Fact, ImpossibleEntry, Life, Subject, fold, in_order
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import Phase
from lifecycle.models import Entry, Person, PlaceKind, Plant, Sowing, Strike, Swap
from lifecycle.models.plants import Projection
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.swaps import ends_of, owner_of, swaps_around
from lifecycle.records.refusal import Refused

P = TypeVar("P", bound=Projection)

NEW = 2**62
"""Id that a draft has before it is written: it sorts behind everything received with it."""


def subject_of(record: Projection) -> Subject:
    """Return "sowing" or "plant"."""
    return "sowing" if isinstance(record, Sowing) else "plant"


def lock(record: P) -> P:
    """Return the record read afresh under a row lock; call inside a transaction.

    SQLite has no row locks: there the IMMEDIATE transaction already excludes writers.
    """
    rows = cast("Manager[P]", type(record)._default_manager)
    return rows.select_for_update(of=("self",)).get(pk=record.pk)


def lock_around(*records: P) -> dict[int, P]:
    """Lock the records and all that share entries with them through swaps; by number.

    Rows are taken in one order, so that two who lock the same plants never wait for each
    other. Raises Refused when a swap was settled between looking and locking.
    """
    ids = {record.pk for record in records}
    around = _sharing(records[0], ids)
    rows = cast("Manager[P]", type(records[0])._default_manager)
    locked = rows.select_for_update(of=("self",)).filter(pk__in=around).order_by("pk")
    found = {row.pk: row for row in locked}
    if _sharing(records[0], ids) != around:
        raise Refused(
            "Somebody settled which plant this is at the same moment. Load the page again."
        )
    return found


def _sharing(record: Projection, ids: set[int]) -> set[int]:
    return ids | ends_of(swaps_around(ids)) if isinstance(record, Plant) else ids


def standing_facts(record: Projection, swaps: Sequence[Swap] | None = None) -> list[Fact]:
    """Return the standing entries that belong to the record, as facts in order."""
    return facts_by_record(subject_of(record), [record.pk], swaps).get(record.pk, [])


def facts_by_record(
    subject: Subject, ids: Iterable[int], swaps: Sequence[Swap] | None = None
) -> dict[int, list[Fact]]:
    """Return the standing facts of many records, with one query and one for the swaps.

    ``swaps`` replaces the swaps that stand around these plants.
    """
    wanted = set(ids)
    if swaps is None:
        swaps = swaps_around(wanted) if subject == "plant" else []
    column = f"{subject}_id"
    rows = (
        _standing(Entry.objects.filter(**{f"{column}__in": wanted | ends_of(swaps)}))
        .order_by("happened_on", "stands_at", "id")
        .values_list(
            column,
            "id",
            "kind",
            "happened_on",
            "stands_at",
            "quantity",
            "choice",
            "place_id",
            "place__kind",
            "holder_id",
            "variety_id",
        )
    )
    found: dict[int, list[Fact]] = {}
    for label, pk, text, day, stands_at, quantity, choice, place, place_kind, *more in rows:
        kind = Kind(text)
        owner = owner_of(label, kind, day, stands_at, swaps) if swaps else label
        if owner in wanted:
            sheltered = None if place_kind is None else PlaceKind(place_kind).sheltered
            found.setdefault(owner, []).append(
                Fact(pk, kind, day, stands_at, quantity, choice, place, sheltered, *more)
            )
    return found


def _standing(entries: QuerySet[Any]) -> QuerySet[Any]:
    return entries.filter(~Exists(Strike.objects.filter(entry=OuterRef("pk"))))


def as_fact(draft: Draft, stands_at: datetime, pk: int = NEW) -> Fact:
    """Return a draft as the fold sees it."""
    return Fact(
        pk,
        draft.kind,
        draft.happened_on,
        stands_at,
        draft.quantity,
        draft.choice,
        draft.place.pk if draft.place else None,
        draft.place.sheltered if draft.place else None,
        draft.holder.pk if draft.holder else None,
        draft.variety.pk if draft.variety else None,
    )


def fold_or_refuse(subject: Subject, facts: Sequence[Fact], act: str) -> Life:
    """Fold facts; raise Refused with the entries that stand in the way of ``act`` named."""
    try:
        life = fold(subject, facts)
    except ImpossibleEntry as problem:
        if problem.fact.id >= NEW:
            raise Refused(str(problem)) from None
        blocked = _in_the_way(subject, list(facts))
        names = ", ".join(
            f"“{RULES[fact.kind].label}” on {fact.happened_on:%-d %B %Y}" for fact in blocked[:5]
        )
        raise Refused(
            f"{act} would make these entries impossible: {names}. Correct or strike them first."
        ) from None
    if life is None:
        raise Refused(f"{act} would leave the record empty. End the {subject} instead.")
    return life


def _in_the_way(subject: Subject, facts: list[Fact]) -> list[Fact]:
    blocked: list[Fact] = []
    remaining = in_order(facts)
    while remaining:
        try:
            fold(subject, remaining)
            return blocked
        except ImpossibleEntry as problem:
            if problem.fact.id >= NEW:
                return blocked
            blocked.append(problem.fact)
            remaining = [fact for fact in remaining if fact.id != problem.fact.id]
    return blocked


def write_entries(
    record: Projection,
    drafts: Sequence[Draft],
    *,
    by: Person | None,
    now: datetime,
    stands_at: datetime | None = None,
    replaces: Entry | None = None,
) -> list[Entry]:
    """Insert drafts as entries of ``record``; the caller has folded them already."""
    subject = {subject_of(record): record}
    return Entry.objects.bulk_create(
        Entry(
            garden_id=record.garden_id,
            uuid=draft.uuid,
            kind=draft.kind,
            happened_on=draft.happened_on,
            received_at=now,
            stands_at=stands_at or now,
            by=by,
            quantity=draft.quantity,
            choice=draft.choice,
            place=draft.place,
            holder=draft.holder,
            variety=draft.variety,
            other=draft.other,
            material=draft.material,
            note=draft.note,
            replaces=replaces,
            **subject,
        )
        for draft in drafts
    )


def projection_of(
    record: Projection, life: Life, facts: Sequence[Fact], site_id: int
) -> dict[str, Any]:
    """Return the projection columns that ``life`` gives to ``record``.

    ``site_id`` is the site of the place the life ended up in.
    """
    last = in_order(facts)[-1]
    columns: dict[str, Any] = {
        "phase": life.phase.value,
        "phase_since": life.phase_since,
        "began_on": life.began_on,
        "place_id": life.place,
        "site_id": site_id,
        "holder_id": life.holder,
        "last_kind": last.kind.value,
        "last_on": last.happened_on,
    }
    if isinstance(record, Plant):
        # A plant not yet saved begins as the variety on its label.
        label = record.label_variety_id or record.variety_id
        columns |= {
            "count": life.count,
            "route": life.route.value if life.route else "",
            "in_doubt": life.in_doubt,
            "variety_id": life.variety or label,
        }
    else:
        columns |= {
            "seeds_sown": life.seeds_sown,
            "emerged": life.emerged,
            "potted_up": life.potted_up,
        }
    return columns


def project(record: Projection, life: Life, facts: Sequence[Fact], site_id: int) -> None:
    """Set the projection of ``record`` and mark it to be planned again; saves the row."""
    columns = projection_of(record, life, facts, site_id)
    for name, value in columns.items():
        setattr(record, name, value)
    record.version += 1
    record.planned_on = None
    record.save(update_fields=[*columns, "version", "planned_on"])


def plan_again(**which: Any) -> int:
    """Mark living sowings and plants to be planned again by the next tick; returns how many.

    ``which`` narrows both tables, such as ``site=site``. A planner that is at work on what
    was read before leaves them to the next tick.
    """
    marked = 0
    for table in (Sowing, Plant):
        living = table.objects.filter(**which).exclude(phase=Phase.ENDED)
        marked += living.update(planned_on=None, version=F("version") + 1)
    return marked
