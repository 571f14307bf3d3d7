"""How a plant came through its winters, read from its entries."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from lifecycle.life.fold import Fact, in_order
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route


class Outcome(StrEnum):
    """How a winter ended for a plant."""

    LIVED = "lived"
    DIED = "died"
    LET_GO = "let_go"


@dataclass(frozen=True, slots=True)
class Wintering:
    """One winter of one plant; ``entry`` is what ended it, None while it lasts."""

    route: Route
    began_on: date
    rested: bool
    outcome: Outcome | None = None
    ended_on: date | None = None
    entry: int | None = None


WINTER_KINDS: frozenset[Kind] = frozenset(
    {
        *(Kind.WINTER_QUARTERS, Kind.GONE_TO_REST, Kind.REVIEWED),
        *(Kind.FIRST_GROWTH, Kind.HARDENING, Kind.PLANTED_OUT, Kind.FIRST_FLOWER, Kind.PICKED),
        *(Kind.MOVED, Kind.ENDED),
    }
)
"""The kinds that begin or end a winter; other entries do not touch it."""

STILL_AUTUMN = timedelta(days=90)
"""Fruit and flowers so soon on a plant kept out without a rest are last year's.

Common practice, no source.
"""

_OUT_AGAIN = frozenset({Kind.HARDENING, Kind.PLANTED_OUT})


def winterings(facts: Iterable[Fact]) -> list[Wintering]:
    """Return the winters of a plant, the last of them perhaps not over.

    A winter begins when the plant goes into winter quarters, goes to rest where it stands, or
    is kept in the ground by decision. It was lived through when the plant then grows anew or
    is set out again; fruit and flowers show it too, except on one that grows on indoors.
    """
    done: list[Wintering] = []
    now: Wintering | None = None
    for fact in in_order(facts):
        if now is None:
            now = _begun(fact)
            continue
        moved = _begun(fact)
        if moved is not None:
            now = replace(now, route=moved.route, rested=now.rested or moved.rested)
            continue
        outcome = _outcome(now, fact)
        if outcome is not None:
            done.append(replace(now, outcome=outcome, ended_on=fact.happened_on, entry=fact.id))
            now = None
    return [*done, now] if now is not None else done


def _begun(fact: Fact) -> Wintering | None:
    if fact.kind is Kind.WINTER_QUARTERS:
        route = Route(fact.choice) if fact.choice else Route.RESTING
        return Wintering(route, fact.happened_on, rested=True)
    if fact.kind is Kind.GONE_TO_REST:
        return Wintering(Route.IN_GROUND, fact.happened_on, rested=True)
    if fact.kind is Kind.REVIEWED and fact.choice == Route.IN_GROUND:
        return Wintering(Route.IN_GROUND, fact.happened_on, rested=False)
    return None


def _outcome(winter: Wintering, fact: Fact) -> Outcome | None:
    if fact.kind is Kind.ENDED:
        return Outcome.DIED if fact.choice == "died" else Outcome.LET_GO
    if fact.kind in _OUT_AGAIN:
        return Outcome.LIVED
    if winter.route is Route.GROWING_ON:
        return Outcome.LIVED if fact.kind is Kind.MOVED and fact.sheltered is False else None
    if fact.kind is Kind.FIRST_GROWTH:
        return Outcome.LIVED
    if fact.kind in (Kind.FIRST_FLOWER, Kind.PICKED):
        late = fact.happened_on - winter.began_on > STILL_AUTUMN
        return Outcome.LIVED if winter.rested or late else None
    return None
