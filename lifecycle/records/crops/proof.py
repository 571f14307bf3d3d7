"""Proof that every projection equals the fold of its entries."""

from collections.abc import Iterator
from dataclasses import dataclass

from lifecycle.life.fold import ImpossibleEntry, fold
from lifecycle.models import Place, Plant, Sowing
from lifecycle.records.crops import ledger

BATCH = 500


@dataclass(frozen=True, slots=True)
class Mismatch:
    """One record whose columns do not say what its entries say."""

    record: str
    column: str
    stored: object
    folded: object


def mismatches() -> Iterator[Mismatch]:
    """Yield every difference between projection and fold, in the whole database."""
    sites = dict(Place.objects.values_list("pk", "site_id"))
    for table in (Sowing, Plant):
        ids = list(table.objects.order_by("pk").values_list("pk", flat=True))
        for start in range(0, len(ids), BATCH):
            yield from _of_batch(table, ids[start : start + BATCH], sites)


def _of_batch(
    table: type[Sowing] | type[Plant], ids: list[int], sites: dict[int, int]
) -> Iterator[Mismatch]:
    records = table.objects.in_bulk(ids)
    facts = ledger.facts_by_record("sowing" if table is Sowing else "plant", ids)
    for pk, record in records.items():
        name = f"{table.__name__.lower()} {record.code}"
        own = facts.get(pk, [])
        try:
            life = fold(ledger.subject_of(record), own)
        except ImpossibleEntry as problem:
            yield Mismatch(name, "entries", str(problem), None)
            continue
        if life is None:
            yield Mismatch(name, "entries", "none", None)
            continue
        site_id = sites[life.place] if life.place else record.site_id
        for column, folded in ledger.projection_of(record, life, own, site_id).items():
            stored = getattr(record, column)
            if stored != folded:
                yield Mismatch(name, column, stored, folded)
