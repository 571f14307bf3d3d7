"""Load what the rules of a bed need, and ask them: its water, its rotation, its room."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from lifecycle.care.bed import Bed, Standing, growing_since
from lifecycle.care.bed_room import Fruit, Room, fruit, room, single_stem_remark
from lifecycle.care.bed_rotation import (
    FamilyYear,
    MayFollow,
    NitrogenLeft,
    clash,
    family_years,
    may_follow,
    nitrogen_left,
    rotation_source,
    stays,
    years_away,
)
from lifecycle.care.bed_water import LOOK_BACK, BedWater, bed_water
from lifecycle.care.bed_weather import Reading, SiteAir
from lifecycle.care.policy import Policy
from lifecycle.handbook import CROPS, SOURCES, Crop
from lifecycle.life.growing_year import growing_year_of, growing_year_start
from lifecycle.life.phases import Phase
from lifecycle.models import BedYear, DayReading, Place, Plant, Site, Sowing, Variety
from lifecycle.records.ground.ground import picked_since, placed_in, turns_of, watered_since
from lifecycle.records.ground.settings import policy_in_force
from lifecycle.reminders.work.planning import ClimateInUse


@dataclass(frozen=True, slots=True)
class Rotation:
    """What stood in a bed, what may follow next year, and what kept plants mean for it."""

    years: list[FamilyYear]
    coming: int
    follows: list[MayFollow]
    nitrogen: NitrogenLeft | None
    clash: str
    gap: int
    source: str


@dataclass(frozen=True, slots=True)
class BedReport:
    """All that a bed's page says beside who stands there. ``picked_g``: this growing year."""

    bed: Bed
    water: BedWater | None
    rotation: Rotation
    room: Room | None
    fruit: Fruit | None
    picked_g: float
    remark: str


def bed_of(place: Place) -> Bed:
    """Return a place as the rules see a bed."""
    return Bed(place.length_m, place.width_m, place.depth_cm, place.soil, place.mulched, place.wire)


def crop_of(variety: Variety) -> Crop:
    """Return the crop of a variety, with the garden's own values in place of the published."""
    crop = CROPS[variety.species]
    return crop.adapted(variety.overrides) if variety.overrides else crop


def policy_in_use(climate: ClimateInUse, site: Site) -> Policy:
    """Return the site's choices where sources disagree, also while no dates are known."""
    return climate.dates.policy if climate.dates is not None else policy_in_force(site)


def bed_report(
    place: Place,
    plants: Sequence[Plant],
    sowings: Sequence[Sowing],
    climate: ClimateInUse,
    today: date,
) -> BedReport:
    """Return the report of a bed with the living plants and sowings in it.

    Plants and sowings come with their variety. Six queries, whatever their number.
    """
    standing = _standing(plants, sowings)
    bed = bed_of(place)
    policy = policy_in_use(climate, place.site)
    starts_in = place.site.year_starts_in
    this_year = growing_year_of(today, starts_in)
    return BedReport(
        bed=bed,
        water=_water(place, bed, standing, plants, sowings, climate, today),
        rotation=rotation_of(place, standing, policy, today),
        room=room(bed, standing, policy),
        fruit=fruit(bed, standing),
        picked_g=picked_since(place, growing_year_start(this_year, starts_in)),
        remark=single_stem_remark(standing, policy),
    )


def _standing(plants: Sequence[Plant], sowings: Sequence[Sowing]) -> list[Standing]:
    """Return what stands in a bed, alike ones counted; a pair on one label takes one's room."""
    turns = turns_of(plants)
    alike: Counter[tuple[int, date, bool]] = Counter()
    varieties: dict[int, Variety] = {}
    for plant in plants:
        since = growing_since(turns.get(plant.pk, []), plant.began_on)
        alike[plant.variety_id, since, plant.phase == Phase.RESTING] += 1
        varieties[plant.variety_id] = plant.variety
    for sowing in sowings:
        left = (sowing.emerged or sowing.seeds_sown) - sowing.potted_up
        if sowing.phase != Phase.PLANNED and left > 0:
            alike[sowing.variety_id, sowing.began_on, False] += left
            varieties[sowing.variety_id] = sowing.variety
    crops = {pk: crop_of(variety) for pk, variety in varieties.items()}
    return [
        Standing(crops[pk], since, count, resting) for (pk, since, resting), count in alike.items()
    ]


def _water(
    place: Place,
    bed: Bed,
    standing: Sequence[Standing],
    plants: Sequence[Plant],
    sowings: Sequence[Sowing],
    climate: ClimateInUse,
    today: date,
) -> BedWater | None:
    since = today - timedelta(LOOK_BACK)
    summary = climate.summary
    air = SiteAir(
        place.site.latitude,
        summary.curve_c if summary else None,
        summary.curve_max_c if summary else None,
    )
    return bed_water(
        bed,
        standing,
        watered_since(plants, sowings, since),
        readings_since(place.site_id, since),
        air,
        today,
    )


def readings_since(site_id: int, since: date) -> Mapping[date, Reading]:
    """Return a site's own readings from a day on, by day."""
    rows = DayReading.objects.filter(site=site_id, day__gte=since)
    return {
        day: Reading(low, high, rain)
        for day, low, high, rain in rows.values_list("day", "tmin_c", "tmax_c", "rain_mm")
    }


def rotation_of(
    place: Place, standing: Sequence[Standing], policy: Policy, today: date
) -> Rotation:
    """Return what stood in a bed by the record and by what members noted, and what may follow."""
    this_year = growing_year_of(today, place.site.year_starts_in)
    years = _years_of(place, today)
    kept = [each.crop for each in standing if each.crop.perennial]
    return Rotation(
        years,
        this_year + 1,
        may_follow(years, this_year + 1, policy),
        nitrogen_left(years, this_year),
        clash(kept, years, this_year, policy),
        years_away(policy),
        SOURCES[rotation_source(policy)],
    )


def nitrogen_before(place: Place, today: date) -> NitrogenLeft | None:
    """Return what a legume of the growing year before may have left in a bed."""
    this_year = growing_year_of(today, place.site.year_starts_in)
    return nitrogen_left(_years_of(place, today), this_year)


def _years_of(place: Place, today: date) -> list[FamilyYear]:
    """Return what stood in a bed by family and growing year, on record and noted."""
    noted = [
        FamilyYear(row.year, row.family, note=row.note, noted=row.pk)
        for row in BedYear.objects.filter(place=place)
    ]
    return family_years(stays(placed_in(place)), noted, place.site.year_starts_in, today)
