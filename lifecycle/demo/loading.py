"""Write the scenario into an empty database, up to today."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from lifecycle.care.seasons import season, season_at
from lifecycle.care.site_dates import SiteDates
from lifecycle.demo.scenario import GARDENS, PASSWORD, PEOPLE, PLACES, VARIETIES, DemoSite
from lifecycle.demo.story import Grounds, Tale, tell
from lifecycle.demo.weather import daily_csv
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PLANT_PHASES, Phase, Route
from lifecycle.models import Garden, Membership, Person, Plant, Role, Site, Sowing, Variety
from lifecycle.records import gardens, people, weather
from lifecycle.records.beginnings import begin, sowing_row
from lifecycle.records.codes import new_codes
from lifecycle.records.drafts import Draft
from lifecycle.records.refusal import Refused
from lifecycle.reminders.planning import climate_of
from lifecycle.reminders.ticks import dispatch_tick, plan_tick, remind_tick

YEARS_BACK = 3
"""Growing years before the running one."""

COHORTS = (9, 8, 8, 6)
"""Plants potted up at each site in each growing year, the oldest first."""


@dataclass(slots=True)
class Ground:
    """One loaded site with what a story needs of it."""

    site: Site
    dates: SiteDates
    grounds: Grounds
    members: list[Membership]
    varieties: list[Variety]
    rng: random.Random


def load(*, now: datetime) -> dict[str, int]:
    """Write the scenario. Raises Refused when the database holds anything already.

    Returns how many gardens, people, plants and entries were made, by name.
    """
    if Person.objects.exists() or Garden.objects.exists():
        raise Refused(
            "This database already holds a garden. The demonstration goes only into an empty one: "
            "set DATA_DIR to a new folder, or DATABASE_URL to a new database."
        )
    with transaction.atomic():
        persons = _people()
        for number, scene in enumerate(GARDENS):
            garden = gardens.new_garden(scene.name, invented=True)
            members = [
                people.enrol(garden, persons[name], role, joined_on=date(now.year - 4, 3, 1))
                for name, role in scene.people
            ]
            for index, site in enumerate(scene.sites):
                ground = _ground(members, site, random.Random(f"{number}-{index}"), now)
                _fill(ground, now)
        _show_every_phase(now)
    plan_tick(now=now)
    remind_tick(now=now)
    dispatch_tick(now=now)
    return {"gardens": len(GARDENS), "people": len(PEOPLE), "plants": Plant.objects.count()}


def _people() -> dict[str, Person]:
    return {
        name: people.add_person(
            email=f"{name}@demo.example", name=full, password=PASSWORD, wants_email=False
        )
        for name, full in PEOPLE.items()
    }


def _ground(
    members: list[Membership], scene: DemoSite, rng: random.Random, now: datetime
) -> Ground:
    owner = next(member for member in members if member.role == Role.OWNER)
    site = gardens.add_site(
        owner,
        name=scene.name,
        latitude=scene.latitude,
        longitude=scene.longitude,
        time_zone=scene.time_zone,
        year_starts_in=scene.year_starts_in,
    )
    places = [
        gardens.add_place(
            owner,
            site,
            name=name,
            kind=kind,
            position=position,
            temperature_c=warmth,
            bright=bright,
        )
        for position, (name, kind, warmth, bright) in enumerate(PLACES, 1)
    ]
    weather.add_record(
        owner,
        site,
        name=f"Invented weather for {scene.name}",
        data=daily_csv(scene.climate, now.year - 1),
        units="C",
        now=now,
        invented=True,
    )
    dates = climate_of(site).dates
    assert dates is not None
    varieties = [gardens.variety(owner, species=species, name=name) for species, name in VARIETIES]
    grounds = Grounds(beds=places[:4], nursery=places[4], cool=places[5], bright=places[6])
    workers = [member for member in members if member.role != Role.COMMITTEE]
    return Ground(site, dates, grounds, workers, varieties, rng)


def _fill(ground: Ground, now: datetime) -> None:
    """Sow and raise a cohort in each growing year, and let each plant live until today."""
    today = ground.site.local_day(now)
    running = season_at(ground.dates, today).year
    for age, size in enumerate(COHORTS):
        year = running - YEARS_BACK + age
        for variety, number in _shares(ground, size):
            _cohort(ground, variety, number, year, today, now)
    _due_today(ground, today, now)


def _shares(ground: Ground, size: int) -> Iterator[tuple[Variety, int]]:
    chosen = ground.rng.sample(ground.varieties, 2)
    yield chosen[0], size - size // 3
    yield chosen[1], size // 3


def _cohort(
    ground: Ground, variety: Variety, number: int, year: int, today: date, now: datetime
) -> None:
    out = season(ground.dates, year).plant_out.best
    sown = out - timedelta(weeks=9) + timedelta(ground.rng.randint(-4, 4))
    potted = sown + timedelta(ground.rng.randint(24, 30))
    if potted > today:
        return
    actor = ground.rng.choice(ground.members)
    pairs = number // 4
    seeds = (number + pairs) * 2
    sowing = _history(
        sowing_row(actor, ground.site, variety),
        [
            _draft(ground, Kind.SOWN, sown, quantity=seeds, place=ground.grounds.nursery),
            _draft(ground, Kind.EMERGED, sown + timedelta(11), quantity=number + pairs + 2),
            _draft(ground, Kind.POTTED_UP, potted, quantity=number + pairs),
        ],
        actor,
        now,
    )
    for index in range(number):
        _raise(ground, sowing, variety, 2 if index < pairs else 1, potted, today, now)


def _raise(
    ground: Ground,
    sowing: Sowing,
    variety: Variety,
    count: int,
    potted: date,
    today: date,
    now: datetime,
) -> None:
    holder = ground.rng.choice(ground.members)
    tale = Tale(variety.species, ground.dates, ground.grounds, ground.rng, _route(ground))
    tale.drafts.append(
        _draft(
            ground,
            Kind.RAISED,
            potted,
            quantity=count,
            place=ground.grounds.nursery,
            holder=holder.person,
        )
    )
    told_until = today - timedelta(ground.rng.choice((0, 0, 0, 3, 12)))
    drafts = tell(tale, told_until)
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
    received = now - timedelta(milliseconds=Plant.objects.count())
    begin(plant, drafts, actor=holder, now=received)


def _route(ground: Ground) -> Route:
    if ground.dates.keeps_in_ground:
        return ground.rng.choice((Route.IN_GROUND, Route.IN_GROUND, Route.RESTING))
    return ground.rng.choice((Route.RESTING, Route.RESTING, Route.GROWING_ON))


def _due_today(ground: Ground, today: date, now: datetime) -> None:
    """Leave a tray whose seedlings are to be potted up from today, and one still to be sown."""
    actor = ground.members[0]
    holder = actor.person
    variety = ground.varieties[0]
    emerged = today - timedelta(10)
    _history(
        sowing_row(actor, ground.site, variety),
        [
            _draft(
                ground,
                Kind.SOWN,
                emerged - timedelta(9),
                quantity=20,
                place=ground.grounds.nursery,
                holder=holder,
            ),
            _draft(ground, Kind.EMERGED, emerged, quantity=16),
        ],
        actor,
        now,
    )
    _history(
        sowing_row(actor, ground.site, ground.varieties[1]),
        [_draft(ground, Kind.PLANNED, today, holder=holder)],
        actor,
        now,
    )
    _history(
        sowing_row(actor, ground.site, ground.varieties[2]),
        [
            _draft(
                ground,
                Kind.SOWN,
                today - timedelta(3),
                quantity=24,
                place=ground.grounds.nursery,
                holder=holder,
            )
        ],
        actor,
        now,
    )


def _show_every_phase(now: datetime) -> None:
    """Add a plant taken over in each phase that no told life happens to stand in today."""
    shown = set(Plant.objects.values_list("phase", flat=True))
    missing = [phase for phase in PLANT_PHASES if phase not in shown]
    site = Site.objects.order_by("latitude").first()
    assert site is not None
    owner = Membership.objects.get(garden_id=site.garden_id, role=Role.OWNER)
    variety = Variety.objects.filter(garden_id=site.garden_id).first()
    assert variety is not None
    sheltered = {Phase.SEEDLING, Phase.RESTING, Phase.WAKING}
    places = {place.kind: place for place in site.places.all()}
    for phase in missing:
        place = places["quarters"] if phase in sheltered else places["bed"]
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


def _history(sowing: Sowing, drafts: list[Draft], actor: Membership, now: datetime) -> Sowing:
    begin(sowing, drafts, actor=actor, now=now)
    return sowing


def _draft(ground: Ground, kind: Kind, day: date, **more: object) -> Draft:
    uuid = UUID(int=ground.rng.getrandbits(128), version=4)
    return Draft(kind, day, uuid, **more)  # type: ignore[arg-type]
