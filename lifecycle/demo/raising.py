"""Raise invented plants at a site: sown together, potted up, and each told its own life."""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from lifecycle.care.seasons import season, season_at
from lifecycle.care.site_dates import SiteDates, for_crop
from lifecycle.demo.deeds import do
from lifecycle.demo.story import Grounds, Tale, tell
from lifecycle.handbook import CROPS, Crop
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from lifecycle.models import Membership, Place, Plant, SeedLot, Site, Sowing, Variety
from lifecycle.records.crops import seeds
from lifecycle.records.crops.beginnings import begin, sowing_row
from lifecycle.records.crops.codes import new_codes
from lifecycle.records.crops.drafts import Draft
from lifecycle.reminders.work.planning import ClimateInUse

YEARS_BACK = 3
"""Growing years before the running one."""

COHORTS = (9, 8, 8, 6)
"""Peppers potted up at each site in each growing year, the oldest first."""


@dataclass(slots=True)
class Ground:
    """One loaded site with what its stories need of it. ``members`` are those who work there."""

    site: Site
    climate: ClimateInUse
    dates: SiteDates
    places: Mapping[str, Place]
    grounds: Grounds
    owner: Membership
    members: Sequence[Membership]
    varieties: Sequence[Variety]
    materials: tuple[str, ...]
    rng: random.Random
    now: datetime

    @property
    def today(self) -> date:
        """The site's own day."""
        return self.site.local_day(self.now)

    @property
    def year(self) -> int:
        """The running growing year."""
        return season_at(self.dates, self.today).year


def raise_peppers(ground: Ground) -> None:
    """Sow and raise a cohort in each growing year, and let each plant live until today."""
    for age, size in enumerate(COHORTS):
        for variety, number in _shares(ground, size):
            raise_cohort(ground, variety, number, ground.year - YEARS_BACK + age)


def _shares(ground: Ground, size: int) -> Iterator[tuple[Variety, int]]:
    chosen = ground.rng.sample(ground.varieties, 2)
    yield chosen[0], size - size // 3
    yield chosen[1], size // 3


def raise_cohort(
    ground: Ground, variety: Variety, number: int, year: int, grounds: Grounds | None = None
) -> None:
    """Sow ``number`` plants of a growing year ahead of their planting out, as far as it has come.

    Of peppers one pot in four holds a pair.
    """
    crop, rng = CROPS[variety.species], ground.rng
    out = season(for_crop(ground.dates, crop), year).plant_out.best
    sown = out - timedelta(weeks=sum(crop.sow_weeks) // 2) + timedelta(rng.randint(-4, 4))
    emerged = sown + timedelta(_days_to_emerge(crop, rng))
    potted = emerged + timedelta(rng.randint(10, 15))
    if sown > ground.today:
        return
    pairs = number // 4 if crop.group == "pepper" else 0
    plants = number + pairs
    grounds = grounds or ground.grounds
    drafts = [
        draft(ground, Kind.SOWN, sown, quantity=plants * 2, place=grounds.nursery),
        draft(ground, Kind.EMERGED, emerged, quantity=plants + 1),
        draft(ground, Kind.POTTED_UP, potted, quantity=plants),
    ]
    actor = rng.choice(ground.members)
    lot = lot_of(ground, variety, sown.year - rng.choice((0, 1, 1, 2, 3)))
    sowing = sowing_row(actor, ground.site, variety, lot=lot)
    come = [each for each in drafts if each.happened_on <= ground.today]
    begin(sowing, come, actor=actor, now=ground.now)
    if potted > ground.today:
        return
    for index in range(number):
        _raise(ground, grounds, sowing, 2 if index < pairs else 1, potted)


def _days_to_emerge(crop: Crop, rng: random.Random) -> int:
    low, high = crop.slow_days or (9, 12)
    return rng.randint(low, (low + high) // 2)


def _raise(ground: Ground, grounds: Grounds, sowing: Sowing, count: int, potted: date) -> None:
    rng, variety = ground.rng, sowing.variety
    holder = rng.choice(ground.members)
    tale = Tale(
        variety.species,
        ground.dates,
        grounds,
        rng,
        _route(ground),
        ground.today - timedelta(rng.choice((0, 0, 0, 1, 3))),
        materials=ground.materials,
        overrides=variety.overrides,
        events=ground.climate.events,
    )
    place = grounds.nursery
    tale.write(Kind.RAISED, potted, quantity=count, place=place, holder=holder.person)
    drafts = tell(tale, do)
    number = Plant.objects.filter(variety=variety).count() + 1
    [code] = new_codes(1)
    plant = Plant(
        garden_id=ground.site.garden_id,
        site=ground.site,
        code=code,
        name=f"{variety.name} {number}",
        variety=variety,
        sowing=sowing,
    )
    # Each life is received at an instant of its own: what shares one was one tap.
    received = ground.now - timedelta(milliseconds=Plant.objects.count())
    begin(plant, drafts, actor=holder, now=received)
    for each in drafts:
        if each.kind is Kind.SEED_SAVED:
            _keep_seed(holder, plant, each.happened_on)


def _keep_seed(actor: Membership, plant: Plant, day: date) -> None:
    name = f"Saved from {plant.name}, {day.year}"
    seeds.add_lot(
        actor,
        variety=plant.variety,
        name=name,
        packed_year=day.year,
        saved_from=plant,
        today=day,
    )


def _route(ground: Ground) -> Route:
    if ground.dates.keeps_in_ground:
        return ground.rng.choice((Route.IN_GROUND, Route.IN_GROUND, Route.RESTING))
    return ground.rng.choice((Route.RESTING, Route.RESTING, Route.GROWING_ON))


def lot_of(ground: Ground, variety: Variety, packed_year: int) -> SeedLot:
    """Return the packet of a variety from a year, kept now if it is new to the garden."""
    name = f"Packet {packed_year}"
    kept = SeedLot.objects.filter(variety=variety, name=name).first()
    return kept or seeds.add_lot(
        ground.owner,
        variety=variety,
        name=name,
        packed_year=packed_year,
        saved_from=None,
        today=ground.today,
    )


def draft(ground: Ground, kind: Kind, day: date, **more: object) -> Draft:
    """Return a draft whose id is the same in every loading."""
    uuid = UUID(int=ground.rng.getrandbits(128), version=4)
    return Draft(kind, day, uuid, **more)  # type: ignore[arg-type]
