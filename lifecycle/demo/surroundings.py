"""What is on record of a site beside its plants: its beds, its weather, its own choices."""

import random
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from lifecycle.care.outlook import Weather
from lifecycle.demo.scenario import BEDS, KITCHEN_PLACES, PLACES, DemoMaterial, DemoSite
from lifecycle.demo.weather import daily_csv, usual_day
from lifecycle.life.growing_year import growing_year_of
from lifecycle.models import Membership, Place, Site
from lifecycle.records.crops import materials
from lifecycle.records.ground import (
    gardens,
    ground,
    settings,
    site_events,
)
from lifecycle.records.weather import (
    readings,
    weather,
)

READ_FOR = 14
"""Days back to which somebody has read the gauge."""


def lay_out(owner: Membership, scene: DemoSite, now: datetime) -> tuple[Site, dict[str, Place]]:
    """Make a site with its places, what its beds are made of, and what stood there before."""
    site = gardens.add_site(
        owner,
        name=scene.name,
        latitude=scene.latitude,
        longitude=scene.longitude,
        time_zone=scene.time_zone,
        year_starts_in=scene.year_starts_in,
    )
    places = {}
    rows = (*PLACES, *KITCHEN_PLACES) if scene.kitchen else PLACES
    for position, (name, kind, warmth, bright) in enumerate(rows, 1):
        place = gardens.add_place(
            owner,
            site,
            name=name,
            kind=kind,
            position=position,
            temperature_c=warmth,
            bright=bright,
        )
        _make_up(owner, place, now)
        places[name] = place
    return site, places


def _make_up(owner: Membership, place: Place, now: datetime) -> None:
    bed = BEDS.get(place.name)
    if bed is None:
        return
    ground.set_ground(
        owner,
        place,
        length_m=bed.length_m,
        width_m=bed.width_m,
        depth_cm=bed.depth_cm,
        soil=bed.soil,
        mulched=bed.mulched,
        wire=bed.wire,
    )
    this_year = growing_year_of(place.site.local_day(now), place.site.year_starts_in)
    for ago, family, note in bed.before:
        ground.note_year(owner, place, year=this_year - ago, family=family, note=note, now=now)


def keep_weather(
    owner: Membership, workers: Sequence[Membership], site: Site, scene: DemoSite, now: datetime
) -> None:
    """Give a site its daily record, its own readings, and the hail that fell there."""
    weather.add_record(
        owner,
        site,
        name=f"Invented weather for {scene.name}",
        data=daily_csv(scene.climate, now.year - 1),
        units="C",
        now=now,
        invented=True,
    )
    if scene.gauge:
        _read_gauge(workers, site, scene, now)
    if scene.hail is not None:
        day = site.local_day(now) - timedelta(scene.hail)
        site_events.begin(
            workers[-1],
            site,
            weather=Weather.HAIL,
            began_on=day,
            ended_on=day,
            note="Invented: the size of peas, for ten minutes.",
            now=now,
        )


def _read_gauge(workers: Sequence[Membership], site: Site, scene: DemoSite, now: datetime) -> None:
    """Type the low and high of most days and the rain of some; not every day is read."""
    rng = random.Random(scene.climate.seed)  # nosec B311 # invented data, the same each time
    for ago in range(READ_FOR, 0, -1):
        rain = rng.choice((None, None, 0.0, 2.5, 9.0))
        read = rng.random() < 0.8
        if not read and rain is None:
            continue
        day = site.local_day(now) - timedelta(ago)
        low, high = usual_day(scene.climate, day)
        warmer = rng.uniform(-2.5, 2.5)
        readings.type_reading(
            rng.choice(workers),
            site,
            day=day,
            tmin_c=round(low + warmer, 1) if read else None,
            tmax_c=round(high + warmer, 1) if read else None,
            rain_mm=rain,
            now=now,
        )


def choose_settings(
    owner: Membership, site: Site, chosen: Mapping[str, str], now: datetime
) -> None:
    """Make a site's own choices where sources disagree."""
    for key, value in chosen.items():
        settings.choose(owner, site, key, value, now=now)


def buy_material(owner: Membership, bag: DemoMaterial) -> str:
    """Keep a garden's own material; returns the key by which an entry names it."""
    made = materials.add_material(
        owner, name=bag.name, n=bag.n, p2o5=bag.p2o5, k2o=bag.k2o, density=bag.density
    )
    return made.key
