"""The garden's own link, by which people ask to join without an invitation from anybody."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from lifecycle.models import Garden, Invitation, Joining, Membership
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.people import audit
from lifecycle.records.people.addresses import plain_address
from lifecycle.records.people.invitation_standing import Standing, standing_of
from lifecycle.records.people.invitations import (
    belongs,
    may_be_mailed,
    waiting_invitation,
    write_invitation,
    write_letter,
)
from lifecycle.records.people.memberships import hold_garden
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import code_for, is_code, new_nonce

PURPOSE = "join"
_NOBODY = UUID(int=0)


def join_path(garden: Garden) -> str:
    """Return the garden's link, or "" while it has none."""
    if garden.join_nonce is None or garden.joining == Joining.INVITED:
        return ""
    return f"/join/{garden.pk}/{code_for(PURPOSE, garden.pk, garden.join_nonce)}"


def garden_of(pk: int, code: str) -> Garden | None:
    """Return the garden whose link this is, or None: no garden, a wrong code, a link that ended."""
    found = Garden.objects.filter(pk=pk).exclude(joining=Joining.INVITED).first()
    nonce = found.join_nonce if found is not None else None
    right = is_code(code, PURPOSE, pk, nonce or _NOBODY)
    return found if right and nonce is not None else None


def new_link(actor: Membership, *, now: datetime) -> Garden:
    """Make a new link; the older one ends, with what was asked for by it and not used yet.

    Raises Refused while the garden takes people by invitation only.
    """
    require(actor, "garden.edit")
    with transaction.atomic():
        garden = held_garden(actor)
        if garden.joining == Joining.INVITED:
            raise Refused("Choose first that people may join or wait by a link.", "joining")
        garden.join_nonce = new_nonce()
        garden.save(update_fields=["join_nonce"])
        end_asked_for(garden, now)
        audit.note(actor, "join_link_made", now=now)
    return garden


def end_link(actor: Membership, *, now: datetime) -> None:
    """End the link: from now on people join by invitation only."""
    require(actor, "garden.edit")
    with transaction.atomic():
        garden = held_garden(actor)
        if garden.join_nonce is None and garden.joining == Joining.INVITED:
            return
        garden.join_nonce, garden.joining = None, Joining.INVITED
        garden.save(update_fields=["join_nonce", "joining"])
        end_asked_for(garden, now)
        audit.note(actor, "join_link_ended", now=now)


def held_garden(actor: Membership) -> Garden:
    """Return the actor's garden as it is now, held inside a transaction."""
    return Garden.objects.select_for_update(no_key=True).get(pk=actor.garden_id)


def end_asked_for(garden: Garden, now: datetime) -> None:
    """End the invitations that were asked for by the link, so that it can be stopped for good."""
    Invitation.objects.filter(
        garden=garden, made_by__isnull=True, used_at__isnull=True, revoked_at__isnull=True
    ).update(revoked_at=now)


def ask_to_join(garden: Garden, *, name: str, email: str, now: datetime) -> None:
    """Mail an invitation to whoever has the garden's link.

    Says the same whatever the address, and mails nothing to somebody who belongs to the garden:
    nobody learns from it who does. An invitation that waits is mailed as it is, its link the
    same, so that a stranger cannot end it.
    """
    address, clean = plain_address(email), plain_name(name, "person")
    if not may_be_mailed(address, garden.pk, now):
        return
    with transaction.atomic():
        hold_garden(garden.pk)
        # The link may have been ended since the page was opened.
        garden.refresh_from_db(fields=["joining"])
        if garden.joining != Joining.OPEN or belongs(garden.pk, address):
            return
        before = waiting_invitation(garden.pk, address)
        if before is not None and standing_of(before, now) == Standing.WAITING:
            write_letter(before, now)
        else:
            write_invitation(garden, email=address, name=clean, now=now)
