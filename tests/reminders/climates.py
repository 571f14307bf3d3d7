"""A climate for the site of the tests, and days on which something falls due."""

from datetime import UTC, date, datetime, timedelta

from lifecycle.models import Site, Task
from lifecycle.records.weather.weather import type_climate
from tests.conftest import World
from tests.factories import NOON

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def at(day: date, hour: int = 12, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


def give_climate(world: World, site: Site | None = None, **more: str) -> None:
    """Zone 5 in central Illinois: lifting falls best on 27 September, planting on 25 May."""
    given = {
        "half_zone": "5b",
        "zone_source": "",
        "last_freeze": "04-20",
        "first_freeze": "10-14",
        "warm_from": "05-25",
        "cool_from": "09-30",
        **more,
    }
    type_climate(world.owner, site or world.site, **given)


def states(**which: object) -> dict[tuple[str, int], str]:
    rows = Task.objects.filter(**which).values_list("kind", "number", "state")
    return {(kind, number): state for kind, number, state in rows}


__all__ = ["DAY", "HOUR", "NOON", "at", "give_climate", "states"]
