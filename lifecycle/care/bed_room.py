"""How much room a bed has left, how many plants still fit, and what fruit an area gives."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lifecycle.agronomy.spacing import bed_capacity, free_room, fruit_yield, plants_in
from lifecycle.care.bed import Bed, Standing, spacing_of
from lifecycle.care.policy import Policy
from lifecycle.handbook import CROPS, fact


@dataclass(frozen=True, slots=True)
class Fits:
    """How many more plants of a crop the free room takes, and how many the empty bed."""

    crop: str
    label: str
    more: int
    in_all: int


@dataclass(frozen=True, slots=True)
class Room:
    """A bed's ground in m2, what its plants take of it, and what fits besides.

    ``unknown``: labels of crops that stand here and have no published spacing.
    """

    area_m2: float
    taken_m2: float
    free_m2: float
    fits: tuple[Fits, ...]
    unknown: tuple[str, ...]


def room(bed: Bed, standing: Sequence[Standing], policy: Policy) -> Room | None:
    """Return the room of a bed, or None while its length or width is not known.

    ``free_m2`` is below 0 where the bed holds more than it has room for. Raises ValueError
    for a bed of no area.
    """
    if bed.length_m is None or bed.width_m is None:
        return None
    area = bed.length_m * bed.width_m
    known = [
        (spacing, each.count)
        for each in standing
        if (spacing := spacing_of(each.crop, policy)) is not None
    ]
    free = free_room(area, known)
    fits = []
    for crop in CROPS.values():
        spacing = spacing_of(crop, policy)
        if spacing is not None:
            in_all = bed_capacity(bed.length_m, bed.width_m, spacing)
            # A bed's edges cost room: the free part takes no more of its plants than its share.
            share = math.floor(in_all * max(free, 0.0) / area + 1e-9)
            more = min(plants_in(free, spacing), share)
            fits.append(Fits(crop.key, crop.label, more, in_all))
    unknown = {each.crop.label for each in standing if spacing_of(each.crop, policy) is None}
    return Room(area, area - free, free, tuple(fits), tuple(sorted(unknown)))


@dataclass(frozen=True, slots=True)
class Fruit:
    """Fruit expected of a bed in a season: how many in all and by m2, from the least to the most.

    ``plants`` counts those with a published number; None where no plant has one.
    """

    plants: int
    low: float
    high: float
    low_m2: float
    high_m2: float
    sources: tuple[str, ...]


def fruit(bed: Bed, standing: Iterable[Standing]) -> Fruit | None:
    """Return the fruit to expect of what stands in a bed, or None where nothing is published."""
    bearing = [each for each in standing if each.crop.find("fruit_per_plant") is not None]
    plants = sum(each.count for each in bearing)
    if not plants or bed.area_m2 is None:
        return None
    low = sum(each.count * each.crop.fact("fruit_per_plant").si for each in bearing)
    high = sum(each.count * each.crop.fact("fruit_per_plant").si_high for each in bearing)
    return Fruit(
        plants,
        low,
        high,
        fruit_yield(low, bed.area_m2, plants).per_m2,
        fruit_yield(high, bed.area_m2, plants).per_m2,
        tuple(sorted({each.crop.fact("fruit_per_plant").source for each in bearing})),
    )


def single_stem_remark(standing: Iterable[Standing], policy: Policy) -> str:
    """Return what single stems can bear where tall tomatoes are grown so, or ""."""
    tall = any(each.crop.tall for each in standing)
    if not tall or policy.of("tomato_training") != "string":
        return ""
    fruit_borne, area = fact("yields.single_stem_fruit"), fact("yields.single_stem_area")
    return (
        f"{fruit_borne.value:.0f} tomatoes a year from {{{area.si:.3f} m2}} are possible with "
        "single stems (common practice, no source)."
    )
