"""Whose an entry is where two labels had been swapped: resolved on reading, never rewritten."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db.models import Q

from lifecycle.life.kinds import RULES, Kind
from lifecycle.models import Entry, Plant, Swap
from lifecycle.models.entries import EntryQuerySet
from lifecycle.models.plants import Projection

STAYS = frozenset(
    {*(kind for kind in Kind if RULES[kind].begins), Kind.IN_DOUBT, Kind.SETTLED},
)
"""Kinds that stay with the label: how a plant began, and what was thought of its label."""


def swaps_around(plants: Iterable[int]) -> list[Swap]:
    """Return the standing swaps that may move entries to or from these plants, as settled.

    Swaps join on: of three plants, two may have swapped and one of them again later.
    """
    known: set[int] = set()
    fresh = set(plants)
    found: dict[int, Swap] = {}
    while fresh:
        known |= fresh
        rows = Swap.objects.standing().filter(Q(first__in=fresh) | Q(second__in=fresh))
        found |= {swap.pk: swap for swap in rows}
        fresh = ends_of(found.values()) - known
    return sorted(found.values(), key=lambda swap: (swap.at, swap.pk))


def swaps_of(record: Projection) -> list[Swap]:
    """Return the standing swaps around a plant; a sowing has none."""
    return swaps_around([record.pk]) if isinstance(record, Plant) else []


def ends_of(swaps: Iterable[Swap]) -> set[int]:
    """Return the plants that these swaps concern."""
    return {end for swap in swaps for end in (swap.first_id, swap.second_id)}


def owner_of(label: int, kind: Kind, day: date, stands_at: datetime, swaps: Sequence[Swap]) -> int:
    """Return the plant that an entry logged under ``label`` belongs to.

    ``swaps`` stand in the order settled: each exchanges what the two records held then.
    """
    if kind in STAYS:
        return label
    owner = label
    for swap in swaps:
        spans = swap.since <= day and (swap.until is None or day < swap.until)
        if spans and stands_at < swap.at and owner in (swap.first_id, swap.second_id):
            owner = swap.second_id if owner == swap.first_id else swap.first_id
    return owner


def owner_id(entry: Entry) -> int:
    """Return the sowing or plant that an entry belongs to now."""
    if entry.plant_id is None:
        assert entry.sowing_id is not None
        return entry.sowing_id
    around = swaps_around([entry.plant_id])
    return owner_of(entry.plant_id, Kind(entry.kind), entry.happened_on, entry.stands_at, around)


def entries_of(record: Projection) -> EntryQuerySet[Entry]:
    """Return the entries that belong to a record now, struck ones too."""
    around = swaps_of(record)
    if not around:
        subject = "plant" if isinstance(record, Plant) else "sowing"
        return Entry.objects.filter(**{subject: record})
    rows = Entry.objects.filter(plant__in=ends_of(around)).values_list(
        "pk", "plant_id", "kind", "happened_on", "stands_at"
    )
    own = [
        pk
        for pk, label, kind, day, stands_at in rows
        if owner_of(label, Kind(kind), day, stands_at, around) == record.pk
    ]
    return Entry.objects.filter(pk__in=own)
