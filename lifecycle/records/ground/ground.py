"""Say what a bed is made of and what stood there, and read back who stood there and when."""

import math
from collections.abc import Iterable
from datetime import date, datetime

from django.db.models import Q

from lifecycle.care.bed_rotation import Placed
from lifecycle.handbook import FAMILIES, SOILS
from lifecycle.life.growing_year import growing_year_of
from lifecycle.life.kinds import Kind
from lifecycle.models import BedYear, Entry, Membership, Place, Plant, Sowing
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused

EARLIEST_YEAR = 1990
LONGEST_M, SHALLOWEST_CM, DEEPEST_CM = 200, 5, 200
SHORTEST_M = 0.1
_LEAVES = (Kind.LIFTED, Kind.ENDED)


def set_ground(
    actor: Membership,
    place: Place,
    *,
    length_m: float | None,
    width_m: float | None,
    depth_cm: float | None,
    soil: str,
    mulched: bool,
    wire: bool,
) -> Place:
    """Set down what a bed is made of; None and "" where nobody knows.

    Raises Refused for a bed without area, an unknown soil, or a place that is not a bed.
    """
    require(actor, "place.edit")
    _own(actor, place)
    _refuse_pots(place)
    _within(length_m, "length_m", "Length", SHORTEST_M, LONGEST_M, "m")
    _within(width_m, "width_m", "Width", SHORTEST_M, LONGEST_M, "m")
    _within(depth_cm, "depth_cm", "Depth", SHALLOWEST_CM, DEEPEST_CM, "cm")
    if soil and soil not in SOILS:
        raise Refused("Soil: choose one from the list.", "soil")
    if wire and depth_cm is None:
        raise Refused("Depth: say how deep the soil above the wire is, in cm.", "depth_cm")
    changed = {
        "length_m": length_m,
        "width_m": width_m,
        "depth_cm": depth_cm,
        "soil": soil,
        "mulched": mulched,
        "wire": wire,
    }
    for name, value in changed.items():
        setattr(place, name, value)
    place.save(update_fields=list(changed))
    return place


def _within(
    value: float | None, field: str, label: str, low: float, high: float, unit: str
) -> None:
    if value is not None and not (math.isfinite(value) and low <= value <= high):
        raise Refused(
            f"{label} of the bed: {value:g} {unit} cannot be. Give {low:g} to {high:g} {unit}.",
            field,
        )


def note_year(
    actor: Membership, place: Place, *, year: int, family: str, note: str, now: datetime
) -> BedYear:
    """Note that a family stood in a bed in a growing year; the same twice is one note."""
    require(actor, "place.edit")
    _own(actor, place)
    _refuse_pots(place)
    this_year = growing_year_of(place.site.local_day(now), place.site.year_starts_in)
    if not EARLIEST_YEAR <= year <= this_year:
        raise Refused(f"Year: give one from {EARLIEST_YEAR} to {this_year}, not {year}.", "year")
    if family not in FAMILIES:
        raise Refused("Family: choose one from the list.", "family")
    text = " ".join(note.replace("\x00", " ").split())
    if len(text) > 200:
        raise Refused(f"The note has {len(text)} characters; keep it to 200.", "note")
    row, _ = BedYear.objects.update_or_create(
        place=place,
        year=year,
        family=family,
        defaults={"garden_id": place.garden_id, "note": text, "by": actor.person, "at": now},
    )
    return row


def forget_year(actor: Membership, row: BedYear) -> None:
    """Take back a note of what stood in a bed; what the record itself says stays."""
    require(actor, "place.edit")
    if row.garden_id != actor.garden_id:
        raise Refused("That note does not belong to this garden.")
    row.delete()


def placed_in(place: Place) -> list[Placed]:
    """Return where every record that ever stood in a place went, and when, in order.

    One query. A record that was lifted or ended has left: its place is None from then on.
    """
    there = Entry.objects.standing().filter(place=place)
    rows = (
        Entry.objects.standing()
        .filter(
            Q(plant__in=there.filter(plant__isnull=False).values("plant"))
            | Q(sowing__in=there.filter(sowing__isnull=False).values("sowing"))
        )
        .filter(Q(place__isnull=False) | Q(kind__in=_LEAVES))
        .order_by("happened_on", "stands_at", "pk")
        .values_list(
            "plant_id",
            "sowing_id",
            "plant__variety__species",
            "sowing__variety__species",
            "happened_on",
            "place_id",
        )
    )
    return [
        Placed(
            ("plant", plant) if plant else ("sowing", sowing),
            of_plant or of_sowing,
            day,
            here == place.pk,
        )
        for plant, sowing, of_plant, of_sowing, day, here in rows
    ]


def turns_of(plants: Iterable[Plant]) -> dict[int, list[tuple[Kind, date]]]:
    """Return, by plant, what turned its growth on and off: planting, rest, waking, first growth."""
    kinds = (Kind.PLANTED_OUT, Kind.GONE_TO_REST, Kind.WOKEN, Kind.FIRST_GROWTH)
    rows = (
        Entry.objects.standing()
        .filter(plant__in=list(plants), kind__in=kinds)
        .order_by("happened_on", "stands_at", "pk")
        .values_list("plant_id", "kind", "happened_on")
    )
    found: dict[int, list[tuple[Kind, date]]] = {}
    for plant, kind, day in rows:
        assert plant is not None
        found.setdefault(plant, []).append((Kind(kind), day))
    return found


def watered_since(
    plants: Iterable[Plant], sowings: Iterable[Sowing], since: date
) -> list[tuple[date, float | None]]:
    """Return the waterings of these records from ``since`` on: day, and litres where given."""
    rows = (
        Entry.objects.standing()
        .filter(
            Q(plant__in=list(plants)) | Q(sowing__in=list(sowings)),
            kind=Kind.WATERED,
            happened_on__gte=since,
        )
        .order_by("happened_on", "stands_at", "pk")
        .values_list("happened_on", "quantity")
    )
    return list(rows)


def picked_since(place: Place, since: date) -> float:
    """Return the grams picked since a day from what stands in a place."""
    rows = (
        Entry.objects.standing()
        .filter(
            Q(plant__place=place) | Q(sowing__place=place),
            kind=Kind.PICKED,
            happened_on__gte=since,
            quantity__isnull=False,
        )
        .values_list("quantity", flat=True)
    )
    return sum(weight for weight in rows if weight)


def _refuse_pots(place: Place) -> None:
    if place.in_pots:
        raise Refused(f"{place} is not a bed: plants stand there in pots. Choose a bed.")


def _own(actor: Membership, place: Place) -> None:
    if place.garden_id != actor.garden_id:
        raise Refused("That place does not belong to this garden.")
