"""Feeding by the material at hand: how much of it, what that supplies, and what to beware of."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from lifecycle.agronomy.blend import blend
from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.nutrients import (
    DRY_FERTILIZER,
    Amounts,
    Analysis,
    Measure,
    Nutrient,
    dose_for_bed,
    dose_for_hole,
    dose_for_water,
    handy_measure,
    supplied,
)
from lifecycle.agronomy.spacing import Spacing
from lifecycle.care.bed_rotation import NitrogenLeft
from lifecycle.handbook import Crop, days, fact

MOST_BLENDED = 3
LEAST_M2, MOST_M2 = 0.01, 40_000.0
"""Areas that are mixed for."""


class Use(StrEnum):
    """What a dose is for."""

    BED = "bed"
    HOLE = "hole"
    WATER = "water"


@dataclass(frozen=True, slots=True)
class Feed:
    """A material at hand: its analysis, its bulk density in g per ml (None: as dry feed).

    ``magnesium``: it is given for that, and not for N, P or K.
    """

    key: str
    label: str
    analysis: Analysis
    density: float | None = None
    magnesium: bool = False

    @property
    def g_per_ml(self) -> float:
        """Bulk density, by the usual one of dry fertilizer where none is known."""
        return DRY_FERTILIZER if self.density is None else self.density


@dataclass(frozen=True, slots=True)
class Dose:
    """Grams of one material, the same in a kitchen measure, and what they supply in g.

    ``limited_by``: the nutrient that reaches its target first, where nothing is to go over.
    """

    grams: float
    count: float
    measure: Measure
    supplies: Amounts
    limited_by: Nutrient | None = None


def target_g_m2() -> Amounts:
    """Return what one feed gives a square metre in g: side-dressed N, the rest as in 2-4-2."""
    n = fact("feed.side_dress_n").si
    return Amounts(n, n * fact("feed.phosphate_to_n").si, n * fact("feed.potash_to_n").si)


def target_ppm() -> Amounts:
    """Return how strong feeding water is, in mg of each nutrient a litre, by the same ratio."""
    n = fact("feed.starter_n").si
    return Amounts(n, n * fact("feed.phosphate_to_n").si, n * fact("feed.potash_to_n").si)


def dose_bed(feed: Feed, area_m2: float, target: Amounts) -> Dose:
    """Return the dose of a bed at ``target`` g per m2. ValueError for a bed of no area."""
    return _least(
        feed,
        {
            nutrient: dose_for_bed(feed.analysis, nutrient, target.of(nutrient), area_m2)
            for nutrient in _held(feed.analysis, target)
        },
    )


def dose_hole(feed: Feed, spacing: Spacing, target: Amounts) -> Dose:
    """Return the dose of one planting hole: a plant's share of the bed's."""
    return _least(
        feed,
        {
            nutrient: dose_for_hole(
                feed.analysis,
                nutrient,
                target.of(nutrient),
                spacing.in_row_m,
                spacing.between_rows_m,
            )
            for nutrient in _held(feed.analysis, target)
        },
    )


def dose_water(feed: Feed, litres: float, target: Amounts) -> Dose:
    """Return the dose of so many litres at ``target`` ppm. ValueError for no water."""
    return _least(
        feed,
        {
            nutrient: dose_for_water(feed.analysis, nutrient, target.of(nutrient), litres)
            for nutrient in _held(feed.analysis, target)
        },
    )


def given(feed: Feed, grams: float) -> Dose:
    """Return so many grams as a dose, whatever they supply."""
    count, measure = handy_measure(grams, feed.g_per_ml)
    return Dose(grams, count, measure, supplied(feed.analysis, grams))


def _held(analysis: Analysis, target: Amounts) -> list[Nutrient]:
    held = [each for each in Nutrient if analysis.share(each) > 0 and target.of(each) > 0]
    if not held:
        raise ValueError(
            f"The material {analysis} holds nothing that is asked for; choose another one."
        )
    return held


def _least(feed: Feed, by_nutrient: dict[Nutrient, float]) -> Dose:
    first = min(by_nutrient, key=lambda nutrient: by_nutrient[nutrient])
    grams = by_nutrient[first]
    count, measure = handy_measure(grams, feed.g_per_ml)
    return Dose(grams, count, measure, supplied(feed.analysis, grams), first)


@dataclass(frozen=True, slots=True)
class Mix:
    """Doses of two or three materials that together meet a target, and what goes over it in g."""

    doses: tuple[tuple[Feed, Dose], ...]
    supplies: Amounts
    excess: Amounts


def mix(feeds: Sequence[Feed], area_m2: float, target: Amounts) -> Mix:
    """Return the blend for a bed with the least on top of ``target`` g per m2.

    ValueError for a bed of no area, more than three materials, or a nutrient none of them holds.
    """
    if not 2 <= len(feeds) <= MOST_BLENDED:
        raise ValueError(f"Mix two or three materials, not {len(feeds)}.")
    area = number_within("The area of the bed", area_m2, LEAST_M2, MOST_M2, "m2")
    wanted = Amounts(target.n * area, target.p2o5 * area, target.k2o * area)
    made = blend([feed.analysis for feed in feeds], wanted)
    doses = tuple((feed, given(feed, grams)) for feed, grams in zip(feeds, made.grams, strict=True))
    return Mix(doses, made.supplied, made.excess)


@dataclass(frozen=True, slots=True)
class FedPlant:
    """A plant that is to be fed: its crop, when it was set out (None: not yet), and its age.

    ``old``: kept over a winter, or taken over full grown; how lately it was set out says nothing.
    ``resting``: it stands still, bare or nearly so.
    """

    crop: Crop
    set_out_on: date | None
    old: bool = False
    resting: bool = False


def is_young(plant: FedPlant, today: date) -> bool:
    """Whether a pepper is within its first weeks out, when it should get little nitrogen."""
    if plant.crop.group != "pepper" or plant.old:
        return False
    if plant.set_out_on is None:
        return True
    return (today - plant.set_out_on).days <= days("feed.first_max")


def too_early(plant: FedPlant, today: date) -> bool:
    """Whether a young pepper has not been out long enough for its first real feed."""
    if not is_young(plant, today) or plant.set_out_on is None:
        return False
    return (today - plant.set_out_on).days < days("feed.first_min")


def rich_in_nitrogen(analysis: Analysis) -> bool:
    """Whether a material is for leaf growth: no less nitrogen than phosphate, and than potash."""
    return analysis.n > 0 and analysis.n >= analysis.p2o5 and analysis.n >= analysis.k2o


def warnings(
    feeds: Sequence[Feed], plants: Sequence[FedPlant], left: NitrogenLeft | None, today: date
) -> list[str]:
    """Return what to beware of before feeding these plants with these materials."""
    said = []
    if any(plant.resting for plant in plants):
        said.append("What rests is not fed: roots that stand still are burnt. Wait until it grows.")
    young = [plant for plant in plants if is_young(plant, today)]
    rich = [feed for feed in feeds if rich_in_nitrogen(feed.analysis)]
    for feed in rich if young else []:
        said.append(
            f"{feed.label} ({feed.analysis}) adds nitrogen that a young pepper should not have: it "
            "makes leaf and puts off fruit. Take one with little nitrogen, such as 2-4-2."
        )
    if any(too_early(plant, today) for plant in plants):
        said.append(
            "The first real feed comes three to four weeks after planting out. Until then what "
            "was put into the hole is enough."
        )
    if any(feed.magnesium for feed in feeds):
        said.append(
            "Magnesium salts are no cure for blossom-end rot; even watering is. They may serve in "
            "pots where leaves yellow between the veins."
        )
    if left is not None and any(feed.analysis.n > 0 for feed in feeds):
        said.append(left.sentence)
    return said
