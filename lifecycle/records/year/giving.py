"""Harvest given away: logged by weight, struck through rather than deleted."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet, Sum

from lifecycle.handbook import CROPS
from lifecycle.models import GivenAway, Membership, Site
from lifecycle.permissions import can, require
from lifecycle.records.crops.beginnings import USED
from lifecycle.records.crops.drafts import EARLIEST
from lifecycle.records.refusal import Refused

LIGHTEST_G, HEAVIEST_G = 1, 1_000_000
NOTE_LENGTH = 200


def give(
    actor: Membership,
    *,
    uuid: UUID,
    site: Site,
    given_on: date,
    grams: float,
    to: str,
    species: str,
    note: str,
    now: datetime,
) -> GivenAway:
    """Log harvest given away. The same ``uuid`` twice is logged once.

    Raises Refused for a weight, a day or a receiver that cannot be.
    """
    require(actor, "harvest.give")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden. Choose one of its sites.", "site")
    weight = round(grams)
    _check(weight, to, species)
    _check_day(given_on, site.local_day(now))
    note = " ".join(note.replace("\x00", " ").split())
    if len(note) > NOTE_LENGTH:
        raise Refused(f"The note has {len(note)} characters; keep it to {NOTE_LENGTH}.", "note")
    row, made = GivenAway.objects.get_or_create(
        uuid=uuid,
        defaults={
            "garden_id": actor.garden_id,
            "site": site,
            "given_on": given_on,
            "grams": weight,
            "to": to,
            "species": species,
            "note": note,
            "by": actor.person,
            "at": now,
        },
    )
    if not made and (row.garden_id, row.by_id) != (actor.garden_id, actor.person_id):
        raise Refused(USED)
    return row


def strike_given(actor: Membership, row: GivenAway, *, now: datetime) -> GivenAway:
    """Draw a line through what was logged by mistake: one's own, or any for a coordinator.

    Striking twice is one strike.
    """
    if row.garden_id != actor.garden_id:
        raise Refused("That does not belong to this garden.")
    if not may_strike_given(actor, row):
        require(actor, "entry.strike_any")
    with transaction.atomic():
        current = GivenAway.objects.select_for_update(of=("self",)).get(pk=row.pk)
        if current.struck_at is None:
            current.struck_by, current.struck_at = actor.person, now
            current.save(update_fields=["struck_by", "struck_at"])
    return current


def may_strike_given(actor: Membership, row: GivenAway) -> bool:
    """Return whether the actor may strike this row."""
    own = row.by_id == actor.person_id and can(actor, "harvest.give")
    return own or can(actor, "entry.strike_any")


def grams_by_receiver(given: QuerySet[GivenAway]) -> dict[str, int]:
    """Return the weight that stands, in g, by who got it; one query."""
    standing = given.filter(struck_at__isnull=True).order_by()
    found = dict(standing.values_list("to").annotate(total=Sum("grams")))
    return {to: found[to] for to in GivenAway.To.values if to in found}


def _check(weight: int, to: str, species: str) -> None:
    if not LIGHTEST_G <= weight <= HEAVIEST_G:
        raise Refused(
            f"Weight: give {LIGHTEST_G} g to {HEAVIEST_G // 1000} kg. Log more in parts.", "grams"
        )
    if to not in GivenAway.To.values:
        raise Refused("Choose who got it.", "to")
    if species and species not in CROPS:
        raise Refused("Choose the crop from the list, or mixed harvest.", "species")


def _check_day(given_on: date, today: date) -> None:
    if given_on > today:
        raise Refused(
            f"{given_on:%-d %B %Y} is in the future. Give today or an earlier date.", "given_on"
        )
    if given_on < EARLIEST:
        raise Refused(f"{given_on:%-d %B %Y} is too long ago. Give a date after 1950.", "given_on")
