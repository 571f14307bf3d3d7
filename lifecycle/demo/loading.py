"""Write the scenario into an empty database, up to today."""

import random
from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from lifecycle.demo import frost
from lifecycle.demo.community import live_together
from lifecycle.demo.doubts import doubt_some
from lifecycle.demo.forecasts import tell_nights
from lifecycle.demo.kitchen import fill_kitchen
from lifecycle.demo.raising import Ground, raise_peppers
from lifecycle.demo.scenario import (
    GARDENS,
    PASSWORD,
    PEOPLE,
    PLACES,
    VARIETIES,
    DemoGarden,
    DemoSite,
)
from lifecycle.demo.story import Grounds
from lifecycle.demo.surroundings import buy_material, choose_settings, keep_weather, lay_out
from lifecycle.demo.trays import leave_for_today
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PLANT_PHASES, Phase
from lifecycle.models import Garden, Membership, Person, Plant, Role, Site, Variety
from lifecycle.records.crops import varieties
from lifecycle.records.crops.beginnings import begin
from lifecycle.records.crops.codes import new_codes
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.ground import gardens
from lifecycle.records.people import people
from lifecycle.records.refusal import Refused
from lifecycle.reminders.ticks import dispatch_tick, plan_tick, remind_tick
from lifecycle.reminders.work.planning import climate_of

FEEDS = ("grade_2_4_2", "fish_emulsion")
"""Materials of the handbook that every garden feeds with."""


def load(*, now: datetime) -> dict[str, int]:
    """Write the scenario. Raises Refused when the database holds anything already.

    Returns how many gardens, people and plants were made, by name.
    """
    if Person.objects.exists() or Garden.objects.exists():
        raise Refused(
            "This database already holds a garden. The demonstration goes only into an empty one: "
            "set DATA_DIR to a new folder, or DATABASE_URL to a new database."
        )
    with transaction.atomic():
        persons = _people()
        for number, scene in enumerate(GARDENS):
            _garden(scene, persons, number, now)
        _show_every_phase(now)
        tell_nights(now)
        frost.stock_and_man(now)
        frost.call_tonight(now)
        live_together(now)
    plan_tick(now=now)
    remind_tick(now=now)
    dispatch_tick(now=now)
    return {"gardens": len(GARDENS), "people": len(PEOPLE), "plants": Plant.objects.count()}


def _people() -> dict[str, Person]:
    return {
        name: people.add_person(
            email=f"{name}@demo.example", name=full, password=PASSWORD, by_email=False
        )
        for name, full in PEOPLE.items()
    }


def _garden(scene: DemoGarden, persons: dict[str, Person], number: int, now: datetime) -> None:
    garden = gardens.new_garden(scene.name, invented=True)
    members = [
        people.enrol(garden, persons[name], role, joined_on=date(now.year - 4, 3, 1))
        for name, role in scene.people
    ]
    owner = next(member for member in members if member.role == Role.OWNER)
    own = (buy_material(owner, scene.material),) if scene.material else ()
    for species, name in VARIETIES:
        variety = gardens.variety(owner, species=species, name=name)
        if name in scene.own_values:
            varieties.set_values(owner, variety, scene.own_values[name])
    for index, site in enumerate(scene.sites):
        rng = random.Random(f"{number}-{index}")  # nosec B311 # invented data, the same each time
        ground = _ground(owner, members, site, (*FEEDS, *own), rng, now)
        raise_peppers(ground)
        if site.kitchen:
            fill_kitchen(ground)
        leave_for_today(ground, tested=scene.tested and index == 0)
        if scene.doubts and index == 0:
            doubt_some(owner, ground.site, now)


def _ground(
    owner: Membership,
    members: Sequence[Membership],
    scene: DemoSite,
    materials: tuple[str, ...],
    rng: random.Random,
    now: datetime,
) -> Ground:
    workers = [member for member in members if member.role != Role.COMMITTEE]
    site, places = lay_out(owner, scene, now)
    keep_weather(owner, workers, site, scene, now)
    choose_settings(owner, site, scene.settings, now)
    climate = climate_of(site)
    assert climate.dates is not None
    beds = [places[name] for name, *_ in PLACES[:4]]
    nursery, cool, bright = (places[name] for name, *_ in PLACES[4:])
    return Ground(
        site=site,
        climate=climate,
        dates=climate.dates,
        places=places,
        grounds=Grounds(beds, nursery, cool, bright),
        owner=owner,
        members=workers,
        varieties=[
            gardens.variety(owner, species=species, name=name) for species, name in VARIETIES
        ],
        materials=materials,
        rng=rng,
        now=now,
    )


def _show_every_phase(now: datetime) -> None:
    """Add a plant taken over in each phase that no told life happens to stand in today."""
    shown = set(Plant.objects.values_list("phase", flat=True))
    missing = [phase for phase in PLANT_PHASES if phase not in shown]
    site = Site.objects.order_by("latitude").first()
    assert site is not None
    owner = Membership.objects.get(garden_id=site.garden_id, role=Role.OWNER)
    species, name = VARIETIES[0]
    variety = Variety.objects.get(garden_id=site.garden_id, species=species, name=name)
    sheltered = {Phase.SEEDLING, Phase.RESTING, Phase.WAKING}
    places = {place.name: place for place in site.places.all()}
    for phase in missing:
        place = places["Cool store" if phase in sheltered else "Bed 1"]
        [code] = new_codes(1)
        plant = Plant(
            garden_id=site.garden_id,
            site=site,
            code=code,
            name=f"{variety.name}, taken over {phase}",
            variety=variety,
        )
        draft = Draft(
            Kind.INHERITED,
            site.local_day(now),
            quantity=1,
            choice=phase.value,
            place=place,
            holder=owner.person,
            note="Invented: shown so that every phase can be seen.",
        )
        begin(plant, [draft], actor=owner, now=now)
