"""A bed's water from the last day it was full to the next watering, and what was assumed for it.

Depletion is the water in mm missing below what the bed holds (FAO-56).
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.evapotranspiration import (
    CropStages,
    crop_coefficient,
    depletion_fraction,
)
from lifecycle.agronomy.soil_water import (
    BedSoil,
    SoilLayer,
    mulched,
    readily_available_water,
    water_balance,
)
from lifecycle.agronomy.watering import litres, next_watering
from lifecycle.care.bed import Bed, Standing
from lifecycle.care.bed_weather import (
    Reading,
    SiteAir,
    days_without_rain,
    rain,
    reference,
    said_of_weather,
)
from lifecycle.handbook import SOILS, Crop, fact

Floats = NDArray[np.float64]

LOOK_BACK = 60
"""Days before which a watering no longer says anything of today."""
LOOK_AHEAD = 14
MOST_GIVEN = 500.0
"""Millimetres in a day beyond which water only runs through."""


@dataclass(frozen=True, slots=True)
class WaterDay:
    """One day of the balance, in mm; ``missing`` at its end. ``expected``: still to come."""

    day: date
    missing: float
    rain: float
    given: float
    used: float
    expected: bool


@dataclass(frozen=True, slots=True)
class BedWater:
    """What a bed holds and lacks in mm, when it next wants water, and what that rests on.

    ``easy``: what plants take without stress. ``due`` None: not within the days looked ahead.
    ``litres`` None: the bed's area is not known. ``rain_unknown``: days without a rain reading,
    which count as dry. Sentences carry their numbers in SI.
    """

    holds: float
    easy: float
    missing: float
    days: tuple[WaterDay, ...]
    due: date | None
    mm: float
    litres: float | None
    assumed: tuple[str, ...]
    rain_unknown: int = 0

    @property
    def late(self) -> bool:
        """Whether plants already lack water today."""
        return self.missing >= self.easy


def bed_water(
    bed: Bed,
    standing: Sequence[Standing],
    waterings: Iterable[tuple[date, float | None]],
    readings: Mapping[date, Reading],
    air: SiteAir,
    today: date,
) -> BedWater | None:
    """Return a bed's water, or None where nothing grows in it.

    ``waterings`` are days with the litres given, None where nobody measured: then the bed
    counts as full that evening, as it does where its area is not known.
    """
    if not standing:
        return None
    start, given, whence = _beginning(bed, standing, waterings, today)
    days = [start + timedelta(n) for n in range(1, (today - start).days + LOOK_AHEAD)]
    past = max((today - start).days - 1, 0)
    et0 = reference(days, readings, air)
    etc = _crop_water(bed, standing, days, et0)
    fallen = rain(days, readings, etc, et0)
    supplied = np.minimum([given.get(day, 0.0) for day in days], MOST_GIVEN)
    roots = _mean(standing, lambda crop: crop.fact("root_depth").si)
    holds = _soil(bed, roots).available_water(roots * 10)
    share = depletion_fraction(_mean(standing, lambda crop: crop.fact("depletion").si), etc)
    run = water_balance(0.0, holds, share, etc, fallen, supplied)
    before = float(run.depletion[past - 1]) if past else 0.0
    # What came down or was given today counts this morning already: it is there.
    morning = max(before - float(fallen[past] + supplied[past]), 0.0)
    easy = float(readily_available_water(holds, share[past]))
    due = next_watering(morning, holds, float(share[past]), etc[past:])
    mm = due.mm if due else 0.0
    return BedWater(
        holds=holds,
        easy=easy,
        missing=morning,
        days=tuple(
            WaterDay(
                day,
                float(run.depletion[n]),
                float(fallen[n]),
                float(supplied[n]),
                float(run.used[n]),
                day >= today,
            )
            for n, day in enumerate(days)
        ),
        due=days[past + due.day] if due else None,
        mm=mm,
        litres=None if bed.area_m2 is None or not due else litres(mm, bed.area_m2),
        assumed=(
            whence,
            *said_of_weather(days[:past], readings, et0),
            *_said_of_bed(bed, roots),
        ),
        rain_unknown=days_without_rain(days[:past], readings),
    )


def _beginning(
    bed: Bed,
    standing: Sequence[Standing],
    waterings: Iterable[tuple[date, float | None]],
    today: date,
) -> tuple[date, dict[date, float], str]:
    """Return the day whose evening found the bed full, the mm given since, and the sentence."""
    earliest = today - timedelta(LOOK_BACK)
    start = max(min(each.since for each in standing), earliest)
    whence = f"Taken as full on {{{start}}}: no watering to the full is on record since."
    given: dict[date, float] = {}
    for day, amount in sorted(waterings, key=lambda each: each[0]):
        if not start <= day <= today:
            continue
        if amount is None or bed.area_m2 is None:
            start, given = day, {}
            whence = f"Taken as full on {{{day}}}: watered, {_WHY_FULL[amount is None]}."
        elif day > start:
            given[day] = given.get(day, 0.0) + amount / bed.area_m2
    return start, given, whence


_WHY_FULL = {
    True: "and how much is not on record",
    False: "and while the bed's size is not known litres say nothing",
}


def _crop_water(
    bed: Bed, standing: Sequence[Standing], days: Sequence[date], et0: Floats
) -> Floats:
    """Return what the bed uses each day in mm, well watered; by the week where ET0 is unknown."""
    total = sum(each.count for each in standing)
    kc = sum(_coefficients(each, days) * each.count for each in standing) / total
    weekly = fact("water.weekly").si / 7
    etc = np.where(np.isnan(et0), weekly, kc * np.nan_to_num(et0))
    if not bed.mulched:
        return etc
    return mulched(etc, fact("water.evaporation_share").si, fact("water.mulch_cut").si)


def _coefficients(each: Standing, days: Sequence[date]) -> Floats:
    crop = each.crop
    if each.resting:
        return np.full(len(days), crop.fact("kc_ini").si)
    stages = CropStages(
        round(crop.fact("stage_ini").si),
        round(crop.fact("stage_dev").si),
        round(crop.fact("stage_mid").si),
        round(crop.fact("stage_late").si),
        crop.fact("kc_ini").si,
        crop.fact("kc_mid").si,
        crop.fact("kc_end").si,
    )
    return crop_coefficient(stages, [max((day - each.since).days, 0) for day in days])


def _soil(bed: Bed, roots_cm: float) -> BedSoil:
    soil = SOILS[bed.soil or "loam"]
    # Without a barrier roots go on into the ground below, taken as the same soil.
    layer = SoilLayer(max(roots_cm, bed.depth_cm or 0.0) * 10, soil.fc, soil.wp)
    wire = bed.depth_cm * 10 if bed.wire and bed.depth_cm is not None else None
    return BedSoil((layer,), wire)


def _mean(standing: Sequence[Standing], value: Callable[[Crop], float]) -> float:
    return sum(value(each.crop) * each.count for each in standing) / sum(
        each.count for each in standing
    )


def _said_of_bed(bed: Bed, roots_cm: float) -> list[str]:
    said = []
    if not bed.soil:
        said.append(f"The soil is not stated: taken as {SOILS['loam'].label.lower()}.")
    if bed.wire and bed.depth_cm is not None:
        said.append(f"Roots end at the wire, {{{bed.depth_cm:.1f} cm}} deep.")
    else:
        said.append(
            f"Roots are taken to reach {{{roots_cm:.1f} cm}}. Just after planting they do not: "
            "feel the soil as well."
        )
    if bed.mulched:
        cut = fact("water.evaporation_share").si * fact("water.mulch_cut").si
        said.append(f"The mulch saves {cut:.0%} of the water.")
    return said
