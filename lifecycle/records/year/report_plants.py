"""The lives of a garden's plants as they were known at an instant, read once for every year."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from lifecycle.life.fold import Fact
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.wintering import WINTER_KINDS, Wintering, winterings
from lifecycle.models import Entry, PlaceKind, Swap
from lifecycle.records.crops.swaps import owner_of

BEGINNINGS: tuple[Kind, ...] = tuple(
    kind for kind in Kind if RULES[kind].begins and RULES[kind].subject == "plant"
)


class _Row(NamedTuple):
    """One entry with the instants at which it came and was struck."""

    pk: int
    plant: int
    kind: str
    happened_on: date
    stands_at: datetime
    choice: str
    place_kind: str | None
    received_at: datetime
    struck_at: datetime | None


@dataclass(frozen=True, slots=True)
class Lifetime:
    """One plant's beginning, winters and end, with the entries that say so."""

    plant: int
    began_on: date
    began_as: Kind
    began_entry: int
    ended_on: date | None
    ended_how: str
    ended_entry: int
    winters: tuple[Wintering, ...]

    def alive_before(self, day: date) -> bool:
        """Return whether it stood in the record when ``day`` began."""
        return self.began_on < day and (self.ended_on is None or self.ended_on >= day)


class PlantRecord:
    """What begins, ends and winters the plants of a garden; three queries however many."""

    def __init__(self, garden_id: int) -> None:
        kinds = {*BEGINNINGS, *WINTER_KINDS}
        rows = Entry.objects.filter(garden=garden_id, plant__isnull=False, kind__in=kinds)
        self._rows = [
            _Row(*row)
            for row in rows.order_by("happened_on", "stands_at", "pk").values_list(
                *("pk", "plant_id", "kind", "happened_on", "stands_at", "choice"),
                *("place__kind", "received_at", "strike__at"),
            )
        ]
        self._swaps = list(
            Swap.objects.filter(garden=garden_id).select_related("strike").order_by("at", "pk")
        )

    def lifetimes(self, as_of: datetime) -> list[Lifetime]:
        """Return the lives that were known at ``as_of``."""
        swaps = [swap for swap in self._swaps if _stood(swap, as_of)]
        facts: defaultdict[int, list[Fact]] = defaultdict(list)
        for row in self._rows:
            if row.received_at > as_of or (row.struck_at is not None and row.struck_at <= as_of):
                continue
            kind = Kind(row.kind)
            owner = owner_of(row.plant, kind, row.happened_on, row.stands_at, swaps)
            facts[owner].append(_fact(row, kind))
        found = (_lifetime(plant, own) for plant, own in sorted(facts.items()))
        return [each for each in found if each is not None]


def _stood(swap: Swap, as_of: datetime) -> bool:
    strike = getattr(swap, "strike", None)
    return swap.at <= as_of and (strike is None or strike.at > as_of)


def _fact(row: _Row, kind: Kind) -> Fact:
    sheltered = None if row.place_kind is None else PlaceKind(row.place_kind).sheltered
    return Fact(
        row.pk, kind, row.happened_on, row.stands_at, choice=row.choice, sheltered=sheltered
    )


def _lifetime(plant: int, facts: list[Fact]) -> Lifetime | None:
    beginning = next((fact for fact in facts if fact.kind in BEGINNINGS), None)
    if beginning is None:
        return None
    end = next((fact for fact in facts if fact.kind is Kind.ENDED), None)
    return Lifetime(
        plant=plant,
        began_on=beginning.happened_on,
        began_as=beginning.kind,
        began_entry=beginning.id,
        ended_on=end.happened_on if end else None,
        ended_how=end.choice if end else "",
        ended_entry=end.id if end else 0,
        winters=tuple(winterings(facts)),
    )
