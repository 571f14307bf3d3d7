"""The kitchen beds: tomatoes and eggplants, and the rows that take turns with them."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from lifecycle.care.seasons import season
from lifecycle.demo.deeds import do
from lifecycle.demo.raising import Ground, draft, raise_cohort
from lifecycle.demo.scenario import FRUITING, PARTNER_BED, ROWS, TOMATO_BED, DemoRow
from lifecycle.demo.story import Tale, tell
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route
from lifecycle.models import Plant, Sowing
from lifecycle.models.plants import Projection
from lifecycle.records.crops.beginnings import begin, sowing_row
from lifecycle.records.crops.entries import log_for_several
from lifecycle.records.ground import gardens

PLANNED_AHEAD = timedelta(days=75)
"""How long before it is to be sown a row is planned."""

WATERED: tuple[tuple[int, float], ...] = ((11, 190.0), (7, 70.0), (3, 70.0))
"""Days ago on which the beds were watered, and the litres given to each."""


def fill_kitchen(ground: Ground) -> None:
    """Raise tomatoes and eggplants of this growing year and the last, and sow the rows.

    While tomatoes crop, the beds have been watered.
    """
    for bed, year in ((PARTNER_BED, ground.year - 1), (TOMATO_BED, ground.year)):
        grounds = replace(ground.grounds, beds=[ground.places[bed]])
        for species, name, number in FRUITING:
            variety = gardens.variety(ground.owner, species=species, name=name)
            raise_cohort(ground, variety, number, year, grounds)
    for row in ROWS:
        _sow_row(ground, row)
    near, far = (ground.places[bed] for bed in (TOMATO_BED, PARTNER_BED))
    first = ground.today - timedelta(WATERED[0][0])
    cropping = Plant.objects.filter(place=near, phase__in=(Phase.GROWING, Phase.BEARING))
    if cropping:
        _water(ground, cropping.filter(began_on__lt=first))
        up = Sowing.objects.filter(place=far, phase=Phase.SEEDLING, phase_since__lt=first)
        _water(ground, up)


def _water(ground: Ground, records: Iterable[Projection]) -> None:
    """Share what a bed was given among all that stands in it."""
    standing = list(records)
    for ago, litres in WATERED:
        day = ground.today - timedelta(ago)
        share = litres / max(len(standing), 1)
        log_for_several(
            ground.owner,
            [(each, draft(ground, Kind.WATERED, day, quantity=share)) for each in standing],
            now=ground.now,
        )


def _sow_row(ground: Ground, row: DemoRow) -> None:
    crop = CROPS[row.species]
    out = season(ground.dates, ground.year + row.year).plant_out.best
    ahead = timedelta(round(crop.fact("direct_before_freeze").si_high))
    planned = out - ahead - PLANNED_AHEAD
    if planned > ground.today:
        return
    actor = ground.rng.choice(ground.members)
    variety = gardens.variety(ground.owner, species=row.species, name=row.name)
    tale = Tale(
        row.species,
        ground.dates,
        replace(ground.grounds, beds=[ground.places[row.bed]]),
        ground.rng,
        Route.LET_GO,
        ground.today,
        subject="sowing",
        seeds=row.seeds,
    )
    tale.write(Kind.PLANNED, planned, holder=actor.person)
    begin(sowing_row(actor, ground.site, variety), tell(tale, do), actor=actor, now=ground.now)
