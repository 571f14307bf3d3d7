"""Plants taken over, struck as cuttings, split from a pair, handed over, and kept as seed."""

from datetime import date, datetime
from typing import TypeVar
from uuid import UUID

from django.db import transaction

from lifecycle.life.fold import fold
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PLANT_PHASES, Phase
from lifecycle.models import Entry, Membership, Person, Place, Plant, SeedLot, Variety
from lifecycle.models.plants import Projection
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.crops.beginnings import (
    USED,
    begin,
    begin_plants,
    begun_before,
    numbered_names,
    part_of,
    plain_name,
)
from lifecycle.records.crops.codes import new_codes
from lifecycle.records.crops.drafts import Draft, check_draft
from lifecycle.records.crops.entries import append
from lifecycle.records.refusal import Refused

P = TypeVar("P", bound=Projection)


def inherit(
    actor: Membership,
    *,
    variety: Variety,
    name: str,
    place: Place,
    phase: str,
    count: int,
    holder: Person | None,
    happened_on: date,
    note: str,
    uuid: UUID,
    now: datetime,
) -> Plant:
    """Take over a plant whose history is unknown, in the phase it stands in now."""
    require(actor, "plant.add")
    if variety.garden_id != actor.garden_id or place.garden_id != actor.garden_id:
        raise Refused("Choose a variety and a place of this garden.")
    if phase not in {known.value for known in PLANT_PHASES}:
        raise Refused("Choose where the plant stands in its life now.", "phase")
    if not 1 <= count <= 2:
        raise Refused("One label carries one plant or a pair: give 1 or 2.", "count")
    if phase in (Phase.ESTABLISHING, Phase.HARDENING) and place.sheltered:
        raise Refused(
            f"{place} is under cover; a plant being hardened or established is not.", "place"
        )
    with transaction.atomic():
        before = begun_before(uuid, actor.garden_id)
        if before is not None:
            if before.plant is None:
                raise Refused(USED)
            return before.plant
        [code] = new_codes(1)
        given = plain_name(name, "plant") if name.strip() else numbered_names(variety, 1)[0]
        plant = Plant(
            garden_id=actor.garden_id, site=place.site, code=code, name=given, variety=variety
        )
        draft = Draft(
            Kind.INHERITED,
            happened_on,
            uuid,
            quantity=count,
            choice=phase,
            place=place,
            holder=holder,
            note=note,
        )
        begin(plant, [draft], actor=actor, now=now)
    return plant


def take_cuttings(
    actor: Membership,
    plant: Plant,
    *,
    number: int,
    place: Place | None,
    happened_on: date,
    uuid: UUID,
    now: datetime,
) -> list[Plant]:
    """Take cuttings: an entry on the parent and a new plant for each, with its lineage."""
    require(actor, "plant.add")
    if not 1 <= number <= 50:
        raise Refused("Give 1 to 50 cuttings.", "number")
    with transaction.atomic():
        locked = _locked(actor, plant)
        if begun_before(uuid, actor.garden_id) is not None:
            return _children(locked, uuid, Kind.STRUCK_CUTTING, number)
        _append(locked, Draft(Kind.CUTTING_TAKEN, happened_on, uuid), actor, now)
        opening = Draft(Kind.STRUCK_CUTTING, happened_on, uuid, place=place, holder=locked.holder)
        return begin_plants(
            actor,
            kind=Kind.STRUCK_CUTTING,
            site=place.site if place else locked.site,
            variety=locked.variety,
            counts=[1] * number,
            draft=opening,
            now=now,
            parent=locked,
        )


def split_pair(
    actor: Membership, plant: Plant, *, happened_on: date, uuid: UUID, now: datetime
) -> Plant:
    """Split a pair: the second plant gets a record of its own with the first as parent."""
    require(actor, "plant.add")
    with transaction.atomic():
        locked = _locked(actor, plant)
        if begun_before(uuid, actor.garden_id) is not None:
            return _children(locked, uuid, Kind.SPLIT_OFF, 1)[0]
        _append(locked, Draft(Kind.SPLIT, happened_on, uuid), actor, now)
        facts = ledger.standing_facts(locked)
        then = fold("plant", [fact for fact in facts if fact.happened_on <= happened_on])
        assert then is not None
        opening = Draft(
            Kind.SPLIT_OFF,
            happened_on,
            uuid,
            choice=then.phase.value,
            place=Place.objects.filter(pk__in=[then.place]).first(),
            holder=Person.objects.filter(pk__in=[then.holder]).first(),
        )
        [second] = begin_plants(
            actor,
            kind=Kind.SPLIT_OFF,
            site=locked.site,
            variety=locked.variety,
            counts=[1],
            draft=opening,
            now=now,
            parent=locked,
            sowing=locked.sowing,
        )
    return second


def save_seed(
    actor: Membership,
    plant: Plant,
    *,
    name: str,
    seeds: int | None,
    happened_on: date,
    uuid: UUID,
    now: datetime,
) -> SeedLot:
    """Keep seed of a plant: an entry on it, and a seed lot that remembers its parent."""
    require(actor, "plant.add")
    with transaction.atomic():
        locked = _locked(actor, plant)
        given = plain_name(name, "seed lot")
        if begun_before(uuid, actor.garden_id) is not None:
            kept = SeedLot.objects.filter(saved_from=locked, name=given).first()
            if kept is None:
                raise Refused(USED)
            return kept
        _append(locked, Draft(Kind.SEED_SAVED, happened_on, uuid, quantity=seeds), actor, now)
        if SeedLot.objects.filter(variety=locked.variety, name=given).exists():
            raise Refused(f"There is a seed lot “{given}” of {locked.variety} already.", "name")
        return SeedLot.objects.create(
            garden_id=actor.garden_id,
            variety=locked.variety,
            name=given,
            packed_year=happened_on.year,
            saved_from=locked,
        )


def write_hand_over(
    actor: Membership,
    locked: Projection,
    *,
    to: Person,
    happened_on: date,
    uuid: UUID,
    now: datetime,
) -> Entry:
    """Write the entry by which a locked record passes to ``to``; the caller has checked who may.

    Raises Refused when it cannot follow what the record says.
    """
    return _append(locked, Draft(Kind.HANDED_OVER, happened_on, uuid, holder=to), actor, now)


def _locked(actor: Membership, record: P) -> P:
    if record.garden_id != actor.garden_id:
        raise Refused("That record does not belong to this garden.")
    return ledger.lock(record)


def _append(record: Projection, draft: Draft, actor: Membership, now: datetime) -> Entry:
    subject = ledger.subject_of(record)
    check_draft(draft, subject, record.garden_id, record.site.local_day(now))
    return append(record, draft, actor=actor, now=now)


def _children(parent: Projection, uuid: UUID, kind: Kind, number: int) -> list[Plant]:
    parts = [part_of(uuid, f"{kind}-{index}") for index in range(number)]
    made = Plant.objects.filter(parent_id=parent.pk, entries__uuid__in=parts).order_by("pk")
    if not made:
        raise Refused(USED)
    return list(made)
