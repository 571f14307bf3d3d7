"""Sow, plan a sowing, and pot up: a sowing becomes plants."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from lifecycle.life.kinds import Kind
from lifecycle.models import Membership, Person, Place, Plant, SeedLot, Site, Sowing, Variety
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.crops.beginnings import (
    USED,
    begin,
    begin_plants,
    begun_before,
    part_of,
    plain_name,
    sowing_row,
)
from lifecycle.records.crops.drafts import Draft, check_draft
from lifecycle.records.crops.entries import append
from lifecycle.records.refusal import Refused


def sow(
    actor: Membership,
    *,
    site: Site,
    variety: Variety,
    lot_name: str,
    packed_year: int | None,
    place: Place | None,
    seeds: int,
    happened_on: date,
    holder: Person | None,
    uuid: UUID,
    now: datetime,
) -> Sowing:
    """Record seed sown today or earlier. The same ``uuid`` twice makes one sowing."""
    draft = Draft(Kind.SOWN, happened_on, uuid, quantity=seeds, place=place, holder=holder)
    return _begin_sowing(actor, site, variety, lot_name, packed_year, draft, now)


def plan_sowing(
    actor: Membership,
    *,
    site: Site,
    variety: Variety,
    lot_name: str,
    packed_year: int | None,
    holder: Person | None,
    uuid: UUID,
    now: datetime,
) -> Sowing:
    """Set down that this variety is to be sown; the plan then says when."""
    draft = Draft(Kind.PLANNED, site.local_day(now), uuid, holder=holder)
    return _begin_sowing(actor, site, variety, lot_name, packed_year, draft, now)


def pot_up(
    actor: Membership,
    sowing: Sowing,
    *,
    singles: int,
    pairs: int,
    place: Place | None,
    happened_on: date,
    uuid: UUID,
    now: datetime,
) -> list[Plant]:
    """Make plants of a sowing: ``singles`` pots with one, ``pairs`` pots with two together.

    Raises Refused when more are potted than were sown. The same ``uuid`` twice makes the
    plants once.
    """
    require(actor, "plant.add")
    if singles < 0 or pairs < 0 or singles + pairs < 1:
        raise Refused("Give at least one pot, single or pair.", "singles")
    with transaction.atomic():
        locked = ledger.lock(sowing)
        if begun_before(uuid, actor.garden_id) is not None:
            made = locked.plants.filter(entries__uuid__in=_parts(uuid, singles + pairs))
            if not made:
                raise Refused(USED)
            return list(made.order_by("pk"))
        site = place.site if place is not None else locked.site
        used = Draft(Kind.POTTED_UP, happened_on, uuid, quantity=singles + 2 * pairs)
        check_draft(used, "sowing", actor.garden_id, locked.site.local_day(now))
        append(locked, used, actor=actor, now=now)
        opening = Draft(Kind.RAISED, happened_on, uuid, place=place, holder=locked.holder)
        return begin_plants(
            actor,
            kind=Kind.RAISED,
            site=site,
            variety=locked.variety,
            counts=[1] * singles + [2] * pairs,
            draft=opening,
            now=now,
            sowing=locked,
        )


def _parts(uuid: UUID, number: int) -> list[UUID]:
    return [part_of(uuid, f"{Kind.RAISED}-{index}") for index in range(number)]


def _begin_sowing(
    actor: Membership,
    site: Site,
    variety: Variety,
    lot_name: str,
    packed_year: int | None,
    draft: Draft,
    now: datetime,
) -> Sowing:
    require(actor, "plant.add")
    if site.garden_id != actor.garden_id or variety.garden_id != actor.garden_id:
        raise Refused("Choose a site and a variety of this garden.")
    with transaction.atomic():
        before = begun_before(draft.uuid, actor.garden_id)
        if before is not None:
            if before.sowing is None:
                raise Refused(USED)
            return before.sowing
        lot = _lot(actor, variety, lot_name, packed_year, draft.happened_on.year)
        sowing = sowing_row(actor, site, variety, lot=lot)
        begin(sowing, [draft], actor=actor, now=now)
    return sowing


def _lot(
    actor: Membership, variety: Variety, name: str, packed_year: int | None, this_year: int
) -> SeedLot | None:
    if not name.strip():
        if packed_year is not None:
            raise Refused("Give the seed lot a name, or leave its year empty.", "lot_name")
        return None
    if packed_year is not None and not 1990 <= packed_year <= this_year:
        raise Refused(
            f"Packed in {packed_year}? Give a year from 1990 to {this_year}.", "packed_year"
        )
    lot, _ = SeedLot.objects.get_or_create(
        variety=variety,
        name=plain_name(name, "seed lot", "lot_name"),
        defaults={"garden_id": actor.garden_id, "packed_year": packed_year},
    )
    return lot
