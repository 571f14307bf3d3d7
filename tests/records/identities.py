"""Short ways to doubt, settle and read which plant is which."""

from datetime import date
from uuid import uuid4

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Swap, Variety
from lifecycle.records.crops.identity import doubt, settle_pair, settle_variety
from lifecycle.records.crops.swaps import entries_of
from tests.conftest import World
from tests.factories import NOON

TODAY = NOON.date()
SINCE = date(2026, 7, 1)


def doubted(world: World, plant: Plant, other: Plant | None = None, **more) -> Entry:
    given = {
        "why": "swapped" if other else "faded",
        "happened_on": date(2026, 9, 1),
        "note": "",
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    return doubt(world.member, plant, other=other, **given)


def settled(world: World, plant: Plant, other: Plant, **more) -> Swap | None:
    given = {
        "how": "fruit",
        "since": SINCE,
        "until": None,
        "happened_on": TODAY,
        "note": "",
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    return settle_pair(world.member, plant, other, **given)


def by_variety(world: World, plant: Plant, variety: Variety | None = None, **more) -> Entry:
    given = {"how": "fruit", "happened_on": TODAY, "note": "", "uuid": uuid4(), "now": NOON, **more}
    return settle_variety(world.member, plant, variety=variety, **given)


def standing(plant: Plant) -> list[str]:
    """The kinds of the entries that count for a plant, in order, without those on its label."""
    skip = {Kind.INHERITED, Kind.IN_DOUBT, Kind.SETTLED}
    rows = entries_of(plant).filter(strike__isnull=True).order_by("happened_on", "stands_at", "pk")
    return [entry.kind for entry in rows if entry.kind not in skip]
