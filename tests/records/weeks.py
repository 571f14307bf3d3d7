"""A garden with work that nobody has, for the tests of sharing it out."""

from datetime import date, timedelta

from lifecycle.models import Away, Chore, Membership, Person, Plant, Task
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, a_plant, a_task

TODAY = NOON.date()
DAY = timedelta(days=1)


def a_free_task(world: World, kind: str = "cut_back", **more: object) -> Task:
    """Put a task for a plant without a holder in a bed of its own into the list."""
    bed = more.pop("bed", None) or PlaceFactory(site=world.site)
    plant = a_plant(world.coordinator, bed, holder=None)  # type: ignore[arg-type]
    return a_task(plant, kind, **more)


def a_chore_task(world: World, title: str = "Turn the compost", **more: object) -> Task:
    """Put one day of a chore into the list; nobody has it."""
    chore = Chore.objects.create(
        garden=world.garden,
        site=world.site,
        title=title,
        first_day=TODAY,
        minutes=more.pop("minutes", 30),
        skill=more.pop("skill", ""),
        made_by=world.coordinator.person,
        made_at=NOON,
    )
    return a_day_of(chore, **more)


def a_day_of(chore: Chore, day: date = TODAY, **more: object) -> Task:
    """Put a day of a chore into the list."""
    given = {
        "garden_id": chore.garden_id,
        "site_id": chore.site_id,
        "chore": chore,
        "kind": Task.CHORE,
        "growing_year": day.year,
        "number": day.timetuple().tm_yday,
        "earliest": day,
        "best": day,
        "latest": day + 3 * DAY,
        "counts_from": day,
        "reason": "It is on the list of chores.",
        "source": "A coordinator",
        "made_at": NOON,
        **more,
    }
    return Task.objects.create(**given)


def a_worker(world: World, name: str, **more: object) -> Membership:
    """Add a member who may do tasks."""
    return MembershipFactory(garden=world.garden, person__name=name, **more)


def is_away(member: Membership, first: date, last: date) -> Away:
    """Note that a member is away."""
    return Away.objects.create(
        garden=member.garden, person=member.person, first_day=first, last_day=last, made_at=NOON
    )


def held_by(person: Person, task: Task) -> None:
    """Let a person hold the plant of a task."""
    Plant.objects.filter(pk=task.plant_id).update(holder=person)
