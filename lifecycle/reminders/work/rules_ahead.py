"""What bed rules would change: plants in the beds, and those that were to stay there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from lifecycle.care.steps import Step
from lifecycle.life.fold import fold
from lifecycle.life.phases import OUTSIDE, Phase, Route
from lifecycle.models import Place, PlaceKind, Plant, Site
from lifecycle.records.crops import ledger
from lifecycle.reminders.work.planning import climate_of, ground_of, steps_of

_STANDS = sorted({*OUTSIDE, Phase.RESTING, Phase.WAKING})
_LEAVES = frozenset({"lift", "let_go", "clear"})
"""Steps by which a plant leaves its bed."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Plants that stand in some beds; ``to_stay``: their plan leaves them in the ground."""

    plants: int
    beds: int
    to_stay: int


def standing_under(site: Site, place: Place | None = None, *, now: datetime) -> Standing:
    """Return what stands in the beds that follow the rules of a site, or in one bed.

    Who was to stay is counted from the plans under the rules in force. Where no climate is known
    there is no plan, and only those count that somebody decided to leave, or that rest there.
    """
    beds = Place.objects.filter(site=site, kind=PlaceKind.BED)
    beds = beds.filter(own_rules=False) if place is None else beds.filter(pk=place.pk)
    rows = Plant.objects.filter(place__in=beds, phase__in=_STANDS)
    plants = list(rows.select_related("variety", "site", "place__site").order_by("pk"))
    facts = ledger.facts_by_record("plant", [plant.pk for plant in plants])
    climate, today = climate_of(site), site.local_day(now)
    to_stay = 0
    for plant in plants:
        life = fold("plant", facts.get(plant.pk, []))
        assert life is not None
        steps = steps_of(plant, life, climate, today, ground_of(plant.place), None)
        to_stay += _stays(plant, steps)
    return Standing(len(plants), len({plant.place_id for plant in plants}), to_stay)


def _stays(plant: Plant, steps: Sequence[Step]) -> bool:
    if plant.phase == Phase.RESTING:
        return True
    if not steps:
        return plant.route == Route.IN_GROUND
    return not any(step.kind in _LEAVES for step in steps)
