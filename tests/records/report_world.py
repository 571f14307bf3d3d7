"""A small garden's year 2025, written down so that every figure can be counted by hand.

The world of the tests joined on 1 January 2024 and took over one plant in May 2026.
"""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

from lifecycle.life.kinds import Kind
from lifecycle.models import (
    BedHolding,
    Chore,
    DayReading,
    Entry,
    Membership,
    Plant,
    Task,
    TaskEvent,
    WorkHours,
)
from lifecycle.models.plants import Projection
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log, strike
from lifecycle.records.crops.plants import split_pair, take_cuttings
from lifecycle.records.crops.sowings import pot_up
from lifecycle.records.year.giving import give, strike_given
from tests.conftest import World
from tests.factories import MembershipFactory, PlaceFactory, a_plant, a_sowing, a_task
from tests.records.frosts import a_night

YEAR = 2025
CLOSING = datetime(2026, 1, 10, 12, tzinfo=UTC)


def at(day: date, hour: int = 12, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


def logged(
    actor: Membership,
    record: Projection,
    kind: Kind,
    day: date,
    *,
    now: datetime | None = None,
    **more: Any,
) -> Entry:
    """Log an entry on its own day."""
    return log(actor, record, Draft(kind, day, **more), now=now or at(day)).entry


def taken_over(world: World, day: date, **more: Any) -> Plant:
    return a_plant(world.member, world.bed, happened_on=day, now=at(day), **more)


def a_closed_task(
    record: Projection, number: int, *events: tuple[str, datetime, Membership | None]
) -> Task:
    """A task with its history, which is all that the report reads."""
    task = a_task(record, "cut_back", number=number)
    _history(task, events)
    return task


def _history(task: Task, events: tuple[tuple[str, datetime, Membership | None], ...]) -> None:
    for act, when, who in events:
        by = who.person if who else None
        TaskEvent.objects.create(garden_id=task.garden_id, task=task, act=act, at=when, by=by)


def a_gift(actor: Membership, world: World, day: date, grams: int, to: str):
    return give(
        actor,
        uuid=uuid4(),
        site=world.site,
        given_on=day,
        grams=grams,
        to=to,
        species="",
        note="",
        now=at(day),
    )


def write_down(world: World) -> dict[str, Any]:
    """Write down the year; returns what single tests change afterwards."""
    people = _people(world)
    plants = _plants(world, people["ada"])
    _beds(world, people)
    _work(world, plants["first"], people["ada"])
    _frost(world)
    _gifts(world)
    _hours(world, people["ada"])
    return {**people, **plants}


def _people(world: World) -> dict[str, Membership]:
    def member(name: str, joined: date, left: date | None = None) -> Membership:
        return MembershipFactory(
            garden=world.garden, person__name=name, joined_on=joined, left_on=left
        )

    member("Dov", date(2023, 1, 1), date(2024, 12, 31))
    member("Cleo", date(2023, 1, 1), date(2025, 2, 10))
    member("Eve", date(2026, 2, 1))
    return {
        "ada": member("Ada", date(2025, 3, 1)),
        "ben": member("Ben", date(2025, 4, 1), date(2025, 9, 30)),
    }


def _plants(world: World, ada: Membership) -> dict[str, Any]:
    member, june = world.member, date(2024, 6, 1)
    resting = {"choice": "resting", "place": world.quarters}
    first, second, third, fourth = (taken_over(world, june) for _ in range(4))
    for plant in (first, second):
        logged(member, plant, Kind.WINTER_QUARTERS, date(2024, 11, 10), **resting)
    logged(member, third, Kind.GONE_TO_REST, date(2024, 11, 20))
    inside = {"choice": "growing_on", "place": world.quarters}
    logged(member, fourth, Kind.WINTER_QUARTERS, date(2024, 11, 10), **inside)

    logged(member, second, Kind.ENDED, date(2025, 2, 1), choice="died")
    logged(member, first, Kind.FIRST_GROWTH, date(2025, 3, 20))
    logged(member, third, Kind.FIRST_GROWTH, date(2025, 4, 5))
    logged(member, third, Kind.DAMAGE, date(2025, 4, 20), choice="frost")
    logged(member, third, Kind.ENDED, date(2025, 5, 1), choice="died")
    logged(member, fourth, Kind.HARDENING, date(2025, 5, 1))

    fresh = taken_over(world, date(2025, 5, 10))
    pair = taken_over(world, date(2025, 5, 10), count=2)
    june = date(2025, 6, 1)
    split_pair(member, pair, happened_on=june, uuid=uuid4(), now=at(june))
    picked = logged(member, fresh, Kind.PICKED, date(2025, 8, 1), quantity=500.0)
    logged(member, fresh, Kind.PICKED, date(2025, 8, 10))
    september = date(2025, 9, 1)
    take_cuttings(
        member,
        fresh,
        number=2,
        place=world.bench,
        happened_on=september,
        uuid=uuid4(),
        now=at(september),
    )
    _from_seed(world)
    mistaken = logged(member, first, Kind.WATERED, date(2025, 7, 1))
    strike(member, mistaken, "", now=at(date(2025, 7, 2)))
    logged(ada, first, Kind.WATERED, date(2025, 7, 3))
    return {"first": first, "fresh": fresh, "picked": picked}


def _from_seed(world: World) -> None:
    march, april = date(2025, 3, 1), date(2025, 4, 1)
    sowing = a_sowing(world.member, world.bench, happened_on=march, now=at(march))
    raised = pot_up(
        world.member,
        sowing,
        singles=3,
        pairs=0,
        place=None,
        happened_on=april,
        uuid=uuid4(),
        now=at(april),
    )
    logged(world.member, raised[1], Kind.ENDED, date(2025, 6, 16), choice="removed")
    logged(world.member, raised[2], Kind.ENDED, date(2025, 6, 15), choice="given_away")


def _beds(world: World, people: dict[str, Membership]) -> None:
    for name, holding in (
        ("ada", {"since": date(2025, 3, 1)}),
        ("ben", {"since": date(2025, 4, 1), "until": date(2025, 9, 30)}),
    ):
        BedHolding.objects.create(
            garden=world.garden,
            place=PlaceFactory(site=world.site, common=False),
            person=people[name].person,
            **holding,
        )


def _work(world: World, plant: Plant, ada: Membership) -> None:
    coordinator, member = world.coordinator, world.member
    may, june, july = date(2025, 5, 5), date(2025, 6, 1), date(2025, 7, 1)
    a_closed_task(plant, 1, ("done", at(may), coordinator))
    a_closed_task(
        plant,
        2,
        ("done", at(june), member),
        ("reopened", at(june + timedelta(1)), member),
        ("withdrawn", at(june + timedelta(9)), None),
    )
    a_closed_task(plant, 3, ("cannot", at(july), member))
    a_closed_task(plant, 4, ("done", at(date(2024, 12, 31), 23, 59), member))
    a_closed_task(plant, 5, ("done", at(date(2025, 12, 31), 23, 59), member))
    a_closed_task(plant, 6, ("done", at(date(2026, 1, 1), 0), member))
    chore = Chore.objects.create(
        garden=world.garden,
        site=world.site,
        title="Turn the compost",
        first_day=july,
        made_by=coordinator.person,
        made_at=at(july),
    )
    task = Task.objects.create(
        garden=world.garden,
        site=world.site,
        chore=chore,
        kind="chore",
        growing_year=2025,
        number=182,
        **dict.fromkeys(("earliest", "best", "latest", "counts_from"), july),
        reason="",
        source="",
        made_at=at(july),
    )
    _history(task, (("done", at(date(2025, 7, 7)), ada),))


def _frost(world: World) -> None:
    def night(day: date, **more: Any) -> None:
        a_night(world, day, forecast=None, **more)

    called = at(date(2025, 3, 30), 9)
    night(date(2025, 3, 30), called_at=called, harm="some")
    night(date(2025, 4, 19), called_at=None, state="possible", harm="killed")
    off = at(date(2025, 11, 1), 15)
    night(date(2025, 11, 1), called_at=called, called_off_at=off, state="cancelled")
    night(date(2024, 11, 2), called_at=called)
    DayReading.objects.create(
        garden=world.garden, site=world.site, day=date(2025, 4, 20), tmin_c=-1.0, at=called
    )


def _gifts(world: World) -> None:
    a_gift(world.owner, world, date(2025, 8, 15), 1200, "food_bank")
    a_gift(world.member, world, date(2025, 9, 1), 300, "neighbours")
    mistaken = a_gift(world.member, world, date(2025, 9, 2), 999, "neighbours")
    strike_given(world.member, mistaken, now=at(date(2025, 9, 3)))


def _hours(world: World, ada: Membership) -> None:
    world.garden.hours_ledger = True
    world.garden.save(update_fields=["hours_ledger"])
    for who, minutes in ((world.member, 60), (world.owner, 90), (ada, 150)):
        WorkHours.objects.create(
            garden=world.garden,
            uuid=uuid4(),
            person=who.person,
            worked_on=date(2025, 7, 5),
            minutes=minutes,
            at=at(date(2025, 7, 5)),
        )
