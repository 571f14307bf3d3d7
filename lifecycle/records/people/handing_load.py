"""What one hand-over passes on: plants, sowings, and the plot they stand in."""

from dataclasses import dataclass, field
from typing import TypeVar

from django.db.models import Q, QuerySet

from lifecycle.life.phases import Phase
from lifecycle.models import BedHolding, HandOverItem, Membership, Person, Place, Plant, Sowing
from lifecycle.models.plants import Projection
from lifecycle.permissions import ROLE_ACTIONS
from lifecycle.records.crops import ledger
from lifecycle.records.refusal import Refused

R = TypeVar("R", Plant, Sowing)

RECEIVING_ROLES = tuple(
    role for role, actions in ROLE_ACTIONS.items() if "plant.hand_over" in actions
)


@dataclass(frozen=True, slots=True)
class Load:
    """Plants and sowings, and the plot whose holding passes with them, if one does."""

    plants: list[Plant] = field(default_factory=list)
    sowings: list[Sowing] = field(default_factory=list)
    place: Place | None = None

    @property
    def empty(self) -> bool:
        """Whether there is nothing to pass on."""
        return not (self.plants or self.sowings or self.place)

    @property
    def records(self) -> list[Plant | Sowing]:
        """The plants and sowings, in the order in which they are locked."""
        return [
            *sorted(self.plants, key=lambda each: each.pk),
            *sorted(self.sowings, key=lambda each: each.pk),
        ]


def load_of(record: Plant | Sowing) -> Load:
    """Return a load of one plant or sowing."""
    return Load(sowings=[record]) if isinstance(record, Sowing) else Load(plants=[record])


def holds(person: Person, place: Place) -> bool:
    """Return whether ``person`` holds the plot, with a holding that has not been ended."""
    return BedHolding.objects.filter(place=place, person=person, until__isnull=True).exists()


def bed_load(place: Place, giver: Person | None) -> Load:
    """Return what passes on with a whole bed: its holding, and what lives in it.

    Who holds the bed gives what is theirs there and what nobody has; somebody who only has plants
    in it gives those. ``giver`` None: what nobody has, with the plot if nobody holds it.
    """
    if giver is None:
        free = not place.common and not held_today(place).exists()
        theirs, whole = Q(pk__in=[]), True
    else:
        free = holds(giver, place)
        theirs, whole = Q(holder=giver), free
    unheld = ~Q(holder__in=members_today(place.garden_id)) | Q(holder__isnull=True)
    wanted = theirs | unheld if whole else theirs
    return Load(
        plants=_living(Plant.objects.filter(wanted, place=place)),
        sowings=_living(Sowing.objects.filter(wanted, place=place)),
        place=place if free else None,
    )


def held_today(place: Place) -> QuerySet[BedHolding]:
    """Return the holdings of a plot that have not been ended, of members of today."""
    return BedHolding.objects.filter(
        place=place, until__isnull=True, person__in=members_today(place.garden_id)
    )


def people_in_bed(place: Place) -> list[Person]:
    """Return who holds the bed or something living in it, of the garden's people of today."""
    holders = [
        table.objects.filter(place=place).exclude(phase=Phase.ENDED).values("holder")
        for table in (Plant, Sowing)
    ]
    there = Q(pk__in=held_today(place).values("person"))
    for each in holders:
        there |= Q(pk__in=each)
    here = Person.objects.filter(there, pk__in=members_today(place.garden_id))
    return list(here.order_by("name", "pk"))


def members_today(garden_id: int) -> QuerySet[Membership, int]:
    """Return the numbers of the people who belong to a garden today."""
    return Membership.objects.filter(garden_id=garden_id, left_on__isnull=True).values_list(
        "person_id", flat=True
    )


def giver_of(record: Projection) -> Person | None:
    """Return who has a plant or sowing; None for nobody, or for somebody who left the garden."""
    if record.holder_id is None or record.holder_id not in members_today(record.garden_id):
        return None
    return record.holder


def check_receiver(person: Person, garden_id: int) -> None:
    """Raise Refused unless ``person`` may look after plants in the garden today."""
    if may_receive(person.pk, garden_id):
        return
    here = Membership.objects.filter(garden_id=garden_id, person=person, left_on__isnull=True)
    why = "their role is to read" if here.exists() else "not a member today"
    raise Refused(
        f"{person} cannot look after plants in this garden: {why}. Choose another member.", "to"
    )


def may_receive(person_id: int, garden_id: int) -> bool:
    """Return whether a person may look after plants in the garden today."""
    return Membership.objects.filter(
        garden_id=garden_id,
        person_id=person_id,
        left_on__isnull=True,
        role__in=RECEIVING_ROLES,
        person__is_active=True,
    ).exists()


def lock_load(load: Load, garden_id: int) -> Load:
    """Return the load read afresh under locks, always in the same order. Raises Refused."""
    place = load.place
    if any(each.garden_id != garden_id for each in load.records) or (
        place is not None and place.garden_id != garden_id
    ):
        raise Refused("That does not belong to this garden.")
    if place is not None:
        place = Place.objects.select_for_update(of=("self",)).get(pk=place.pk)
    return Load(
        plants=[ledger.lock(each) for each in sorted(load.plants, key=lambda each: each.pk)],
        sowings=[ledger.lock(each) for each in sorted(load.sowings, key=lambda each: each.pk)],
        place=place,
    )


def check_load(load: Load, giver: Person | None) -> None:
    """Raise Refused unless all of a locked load is alive, the giver's or nobody's, and free."""
    if load.empty:
        raise Refused("There is nothing here to hand over.")
    for record in load.records:
        if not record.alive:
            raise Refused(f"{record} has ended. There is nothing to hand over.")
        holder = giver_of(record)
        if holder is not None and holder != giver:
            raise Refused(f"{record} is looked after by {holder}. Load the page again.")
    waiting = in_a_hand_over(load)
    if waiting:
        raise Refused(
            f"{waiting} is part of a hand-over that is not settled yet. Answer that one, or take "
            "it back, on the page Hand-overs."
        )


def in_a_hand_over(load: Load) -> str:
    """Return the name of what is in another hand-over that is not settled; "" for none."""
    waits = HandOverItem.objects.filter(waits=True).select_related("plant", "sowing", "place")
    asked = Q(plant__in=load.plants) | Q(sowing__in=load.sowings)
    if load.place is not None:
        asked |= Q(place=load.place)
    found = waits.filter(asked).order_by("pk").first()
    return "" if found is None else str(found)


def _living(records: QuerySet[R]) -> list[R]:
    found = records.exclude(phase=Phase.ENDED).select_related("site", "variety")
    return list(found.order_by("pk"))
