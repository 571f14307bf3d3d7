"""Reading a record's entries as facts, writing drafts, and keeping the projection equal.

Every verb that touches entries goes through here: lock the record's row, fold what stands
with what is new, refuse what cannot follow, write, and set the projection in the same
transaction.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, TypeVar, cast

from django.db.models import Exists, Manager, OuterRef, QuerySet

from lifecycle.life.fold import Fact, ImpossibleEntry, Life, Subject, fold, in_order
from lifecycle.life.kinds import RULES, Kind
from lifecycle.models import Entry, Person, PlaceKind, Plant, Sowing, Strike
from lifecycle.models.plants import Projection
from lifecycle.records.drafts import Draft
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


def standing_facts(record: Projection) -> list[Fact]:
    """Return the record's entries that were not struck through, as facts in order."""
    return facts_by_record(subject_of(record), [record.pk]).get(record.pk, [])


def facts_by_record(subject: Subject, ids: Iterable[int]) -> dict[int, list[Fact]]:
    """Return the standing facts of many records with one query."""
    column = f"{subject}_id"
    rows = (
        _standing(Entry.objects.filter(**{f"{column}__in": list(ids)}))
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
        )
    )
    found: dict[int, list[Fact]] = {}
    for owner, pk, kind, day, stands_at, quantity, choice, place, place_kind, holder in rows:
        sheltered = None if place_kind is None else PlaceKind(place_kind).sheltered
        found.setdefault(owner, []).append(
            Fact(pk, Kind(kind), day, stands_at, quantity, choice, place, sheltered, holder)
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
        columns |= {"count": life.count, "route": life.route.value if life.route else ""}
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
