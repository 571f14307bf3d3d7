"""A frost night judged plant by plant: leave, cover, bring in, or a cover may not be enough.

By cost against loss (Murphy 1977; Richardson 2000): it pays to act when the chance of the loss
is at least the cost of acting over the loss. A cover is worth the least that any source gives for
it, and nothing in wind: covers are good against frost and weak where the cold comes with the wind
(Colorado State and University of Florida Extension).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from lifecycle.care.frost_limits import Limits
from lifecycle.handbook import PROTECTIONS, fact

SHEET = "blanket"
"""What is counted on where no covers are on record: a dry sheet, which any garden finds."""

COVERS = tuple(key for key in PROTECTIONS if key not in ("wet_soil", "wall", "mulch"))
"""Protections that come in pieces, by their keys in the handbook."""


class Low(Protocol):
    """The low of a night at a site, as far as it is known."""

    def chance(self, limit_c: float) -> float:
        """Return the chance, 0 to 1, that it falls to the limit in C or below."""


class Action(StrEnum):
    """What to do with a plant, or with all that stands in a place."""

    LEAVE = "leave"
    COVER = "cover"
    BRING_IN = "bring_in"
    NOT_ENOUGH = "not_enough"


@dataclass(frozen=True, slots=True)
class Ratios:
    """The chances of being killed, and of being harmed, from which it pays to act."""

    kill: float = 1 / 20
    harm: float = 1 / 5


@dataclass(frozen=True, slots=True)
class Stock:
    """Covers of one kind at hand: how many pieces, and what one of them covers in m2."""

    protection: str
    pieces: int
    area_m2: float
    kept_in: str = ""


@dataclass(frozen=True, slots=True)
class OutThere:
    """A plant in a place; ``limits`` None: nothing to fear for it."""

    key: str
    limits: Limits | None
    count: int = 1


@dataclass(frozen=True, slots=True)
class Spot:
    """A place with what stands there; ``position`` is its turn on the walk."""

    key: int
    position: int
    plants: tuple[OutThere, ...]
    in_pots: bool = False
    area_m2: float | None = None


@dataclass(frozen=True, slots=True)
class PlantVerdict:
    """What to do with one plant."""

    key: str
    action: Action
    limits: Limits | None


@dataclass(frozen=True, slots=True)
class PlaceVerdict:
    """What to do in one place: the worst of its plants.

    ``count`` plants are to be seen to. ``protection`` is the cover to take, "" where none is on
    record or none is needed; ``pieces`` of it are needed and ``short`` of them are missing.
    """

    key: int
    action: Action
    plants: tuple[PlantVerdict, ...]
    count: int
    protection: str = ""
    pieces: int = 0
    short: int = 0


@dataclass(frozen=True, slots=True)
class SiteVerdict:
    """A night at a site: its places in walking order, and the chances of its most tender plant.

    ``fear`` is the greater of the two chances as a multiple of its ratio: from 1 it pays to
    act. ``hours`` of work for ``people`` at the work time of the handbook.
    """

    places: tuple[PlaceVerdict, ...]
    kill_chance: float
    harm_chance: float
    fear: float
    hours: float
    people: int


def fear_of(low: Low, limits: Limits, ratios: Ratios, gain_c: float = 0.0) -> float:
    """Return the chances of one plant as a multiple of the ratio to act at, the greater of two.

    ``gain_c`` is how much warmer it stands under a cover.
    """
    return max(
        low.chance(limits.kill_c - gain_c) / ratios.kill,
        low.chance(limits.harm_c - gain_c) / ratios.harm,
    )


def gain_of(protection: str, calm: bool | None) -> float:
    """Return the degrees C to count on: the least any source gives; none in wind.

    ``calm`` None: nobody knows the wind; the cover counts, and the page says so.
    """
    return 0.0 if calm is False else PROTECTIONS[protection].sure_c


def judge(
    spots: Sequence[Spot],
    low: Low,
    *,
    calm: bool | None,
    ratios: Ratios,
    stock: Sequence[Stock],
) -> SiteVerdict:
    """Judge a night for everything that stands out at a site.

    Covers go first to beds, and among those to the most endangered; pots for which none is left
    are brought in. Without covers on record a dry sheet is counted on.
    """
    tender = [plant.limits for spot in spots for plant in spot.plants if plant.limits is not None]
    shed = _Shed(stock, calm)
    hardest_first = sorted(
        spots, key=lambda spot: (spot.in_pots, -_worst(spot, low, ratios, 0.0), spot.position)
    )
    made = {spot.key: _judge_spot(spot, low, ratios, shed) for spot in hardest_first}
    places = tuple(made[spot.key] for spot in sorted(spots, key=lambda spot: spot.position))
    hours = sum(_hours(place) for place in places)
    return SiteVerdict(
        places=places,
        kill_chance=max((low.chance(each.kill_c) for each in tender), default=0.0),
        harm_chance=max((low.chance(each.harm_c) for each in tender), default=0.0),
        fear=max((fear_of(low, each, ratios) for each in tender), default=0.0),
        hours=hours,
        people=math.ceil(hours / fact("frost_work.time").si),
    )


def _worst(spot: Spot, low: Low, ratios: Ratios, gain_c: float) -> float:
    return max(
        (
            fear_of(low, plant.limits, ratios, gain_c)
            for plant in spot.plants
            if plant.limits is not None
        ),
        default=0.0,
    )


@dataclass(slots=True)
class _Pile:
    """What is left of one kind of cover, and the degrees it gives tonight."""

    protection: str
    left: int
    area_m2: float
    gain_c: float


class _Shed:
    """The covers at hand while they are handed out."""

    def __init__(self, stock: Sequence[Stock], calm: bool | None) -> None:
        self.piles = [
            _Pile(each.protection, each.pieces, each.area_m2, gain_of(each.protection, calm))
            for each in stock
        ]
        self.unknown = not self.piles
        self.sheet_c = gain_of(SHEET, calm)

    def take(self, spot: Spot, count: int, enough: "list[_Pile]") -> tuple[_Pile, int, int]:
        """Hand out the least of these piles that reaches, or what is left of the fullest one.

        Returns the pile, the pieces needed and how many of them are missing.
        """
        least = sorted(enough, key=lambda pile: pile.gain_c)
        for pile in least:
            needed = _pieces(spot, count, pile)
            if pile.left >= needed:
                pile.left -= needed
                return pile, needed, 0
        pile = min(least, key=lambda pile: _pieces(spot, count, pile) - pile.left)
        needed = _pieces(spot, count, pile)
        short, pile.left = needed - pile.left, 0
        return pile, needed, short


def _pieces(spot: Spot, count: int, pile: _Pile) -> int:
    """Pieces for the whole of a bed of known size, or else by the number of plants."""
    if spot.area_m2 is not None:
        return math.ceil(spot.area_m2 / pile.area_m2)
    return math.ceil(count / fact("frost_work.plants_a_piece").si)


def _judge_spot(spot: Spot, low: Low, ratios: Ratios, shed: _Shed) -> PlaceVerdict:
    endangered = [
        plant
        for plant in spot.plants
        if plant.limits is not None and fear_of(low, plant.limits, ratios) >= 1
    ]
    if not endangered:
        plants = tuple(PlantVerdict(each.key, Action.LEAVE, each.limits) for each in spot.plants)
        return PlaceVerdict(spot.key, Action.LEAVE, plants, 0)
    count = sum(plant.count for plant in endangered)
    if shed.unknown:
        covered = _worst(spot, low, ratios, shed.sheet_c) < 1
        return _verdict(
            spot, low, ratios, None if spot.in_pots and not covered else shed.sheet_c, count
        )
    enough = [pile for pile in shed.piles if _worst(spot, low, ratios, pile.gain_c) < 1]
    if spot.in_pots and not any(pile.left >= _pieces(spot, count, pile) for pile in enough):
        return _verdict(spot, low, ratios, None, count)
    strongest = max(PROTECTIONS[pile.protection].sure_c for pile in shed.piles)
    best = [pile for pile in shed.piles if PROTECTIONS[pile.protection].sure_c == strongest]
    pile, needed, short = shed.take(spot, count, enough or best)
    return _verdict(spot, low, ratios, pile.gain_c, count, (pile.protection, needed, short))


def _verdict(
    spot: Spot,
    low: Low,
    ratios: Ratios,
    gain_c: float | None,
    count: int,
    cover: tuple[str, int, int] = ("", 0, 0),
) -> PlaceVerdict:
    """Return what to do in a place whose plants are endangered; ``gain_c`` None: carried in."""
    plants = tuple(
        PlantVerdict(plant.key, _action(plant.limits, low, ratios, gain_c), plant.limits)
        for plant in spot.plants
    )
    order = list(Action)
    worst = max((plant.action for plant in plants), key=order.index)
    protection, pieces, short = cover
    return PlaceVerdict(spot.key, worst, plants, count, protection, pieces, short)


def _action(limits: Limits | None, low: Low, ratios: Ratios, gain_c: float | None) -> Action:
    if limits is None or fear_of(low, limits, ratios) < 1:
        return Action.LEAVE
    if gain_c is None:
        return Action.BRING_IN
    return Action.COVER if fear_of(low, limits, ratios, gain_c) < 1 else Action.NOT_ENOUGH


def _hours(place: PlaceVerdict) -> float:
    if place.action is Action.LEAVE:
        return 0.0
    if place.action is Action.BRING_IN:
        return place.count * fact("frost_work.carry_a_pot").si
    return fact("frost_work.cover_a_place").si
