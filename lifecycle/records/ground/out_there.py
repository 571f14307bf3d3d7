"""What stands out at night at a site, place by place, and what it stands."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet

from lifecycle.care.frost_limits import limits_of
from lifecycle.care.frost_night import OutThere, Spot, Stock
from lifecycle.handbook import CROPS
from lifecycle.life.phases import Phase
from lifecycle.models import GardenCover, Place, PlaceKind, Plant, Site, Sowing

IN_THE_OPEN = (PlaceKind.BED, PlaceKind.BENCH)

OUT = Q(place__kind__in=IN_THE_OPEN) | Q(phase=Phase.HARDENING)
"""Of a plant: it stands in the open, or is being hardened off."""


@dataclass(frozen=True, slots=True)
class OutPlace:
    """A place with the plants and sowings that stand out there, as rows and as they are judged."""

    place: Place
    records: tuple[Plant | Sowing, ...]
    spot: Spot


def has_plants_out() -> Q:
    """Return the condition that something living stands out at a site."""
    alive = Plant.objects.filter(site=OuterRef("pk")).exclude(phase=Phase.ENDED)
    rows = Sowing.objects.filter(site=OuterRef("pk"), phase=Phase.SEEDLING)
    return Q(Exists(alive.filter(OUT))) | Q(Exists(rows.filter(place__kind__in=IN_THE_OPEN)))


def places_out(site: Site) -> list[OutPlace]:
    """Return the places of a site where something stands out, in walking order."""
    return _by_place([*_plants().filter(site=site), *_sowings().filter(site=site)])


def out_in(place: Place) -> list[Plant | Sowing]:
    """Return what stands out in one place and can be hurt by frost."""
    found = _by_place([*_plants().filter(place=place), *_sowings().filter(place=place)])
    return [
        record
        for each in found
        for record, judged in zip(each.records, each.spot.plants, strict=True)
        if judged.limits is not None
    ]


def without_place(site: Site) -> int:
    """Return how many plants stand out of whose place nothing is known."""
    return (
        Plant.objects.filter(site=site, place__isnull=True)
        .filter(phase__in=[Phase.HARDENING, Phase.ESTABLISHING, Phase.GROWING, Phase.BEARING])
        .count()
    )


def stock_of(covers: Iterable[GardenCover]) -> list[Stock]:
    """Return covers as the rules take them."""
    return [Stock(each.protection, each.pieces, each.area_m2, each.kept_in) for each in covers]


def _plants() -> QuerySet[Plant]:
    rows = Plant.objects.filter(OUT, place__isnull=False).exclude(phase=Phase.ENDED)
    return rows.select_related("place", "variety").order_by("name", "pk")


def _sowings() -> QuerySet[Sowing]:
    rows = Sowing.objects.filter(phase=Phase.SEEDLING, place__kind__in=IN_THE_OPEN)
    return rows.select_related("place", "variety").order_by("pk")


def _by_place(records: list[Plant | Sowing]) -> list[OutPlace]:
    standing: dict[int, list[Plant | Sowing]] = {}
    places: dict[int, Place] = {}
    for record in records:
        place = record.place
        assert place is not None
        places[place.pk] = place
        standing.setdefault(place.pk, []).append(record)
    in_order = sorted(places.values(), key=lambda place: (place.position, place.name, place.pk))
    return [
        OutPlace(place, tuple(standing[place.pk]), _spot(place, standing[place.pk], turn))
        for turn, place in enumerate(in_order)
    ]


def _spot(place: Place, records: list[Plant | Sowing], turn: int) -> Spot:
    return Spot(
        key=place.pk,
        position=turn,
        plants=tuple(_judged(record, place) for record in records),
        in_pots=place.in_pots,
        area_m2=place.area_m2,
    )


def _judged(record: Plant | Sowing, place: Place) -> OutThere:
    limits = limits_of(
        CROPS[record.variety.species],
        Phase(record.phase),
        sheltered=place.sheltered,
        in_pot=place.in_pots,
    )
    return OutThere(record.code, limits, record.count if isinstance(record, Plant) else 1)
