"""Chores, offers and days away, for tests that need them in place."""

from datetime import date
from typing import Any

from lifecycle.models import Away, Chore, Membership, Task
from lifecycle.records.work.away import agree, go_away
from lifecycle.records.work.chores import ChoreDraft, add_chore
from tests.conftest import World
from tests.factories import NOON

TODAY = NOON.date()


def a_draft(world: World, **more: Any) -> ChoreDraft:
    """Turn the compost of the world's site once, today."""
    return ChoreDraft(
        **{"site": world.site, "title": "Turn the compost", "first_day": TODAY, **more}
    )


def a_chore(world: World, **more: Any) -> Chore:
    """Make a chore as the coordinator."""
    return add_chore(world.coordinator, a_draft(world, **more), now=NOON)


def a_chore_task(chore: Chore, day: date = TODAY, **more: Any) -> Task:
    """Put a task of a chore into the work list, as the plan does."""
    given: dict[str, Any] = {
        "garden_id": chore.garden_id,
        "site_id": chore.site_id,
        "chore": chore,
        "kind": Task.CHORE,
        "growing_year": day.year,
        "number": day.timetuple().tm_yday,
        "earliest": day,
        "best": day,
        "latest": day,
        "counts_from": day,
        "reason": "Once.",
        "source": "The garden’s own list of chores",
        "made_at": NOON,
        **more,
    }
    return Task.objects.create(**given)


def covered(who: Membership, cover: Membership, first: date, last: date) -> Away:
    """Let somebody be away with a cover who agreed."""
    away = go_away(who, first_day=first, last_day=last, cover=cover.person, now=NOON)
    return agree(cover, away, now=NOON)
