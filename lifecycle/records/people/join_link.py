"""The garden's own link, by which people ask to join without an invitation from anybody."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from lifecycle.models import Garden, Invitation, Joining, Letter, Membership
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.people import audit, letters
from lifecycle.records.people.addresses import plain_address
from lifecycle.records.people.invitation_letters import may_be_mailed
from lifecycle.records.people.invitation_standing import LASTS, Standing, standing_of
from lifecycle.records.people.invitations import (
    belongs,
    waiting_invitation,
    write_invitation,
)
from lifecycle.records.people.memberships import hold_garden
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import code_for, is_code, new_nonce

PURPOSE = "join"
GARDEN, NAME = "garden", "name"
"""Of a letter's data, until it is known who asked: where, and under which name."""
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
    """End what was asked for by the link and not used, so that it can be stopped for good."""
    Letter.objects.filter(
        about=Letter.About.INVITATION,
        invitation__isnull=True,
        state=Letter.State.PENDING,
        **{f"data__{GARDEN}": garden.pk},
    ).update(state=Letter.State.CANCELLED)
    Invitation.objects.filter(
        garden=garden, made_by__isnull=True, used_at__isnull=True, revoked_at__isnull=True
    ).update(revoked_at=now)


def ask_to_join(garden: Garden, *, name: str, email: str, now: datetime) -> None:
    """Write down that whoever has the garden's link asks for an invitation.

    Who that is turns out only when the letter is sent: asking is the same work, and the same
    answer, for members, for people who are invited and for strangers. Raises Refused for what is
    no address or no name.
    """
    address, clean = plain_address(email), plain_name(name, "person")
    letters.write(
        address,
        Letter.About.INVITATION,
        now=now,
        data={GARDEN: garden.pk, NAME: clean},
        lasts=LASTS,
    )


def invitation_asked_for(letter: Letter, *, now: datetime) -> Invitation | None:
    """Return the invitation that goes with a letter, made now where the letter asks for one.

    None for somebody who belongs to the garden, after several letters in a day, and once the link
    is closed. An invitation that waits is mailed as it is, its link the same, so that a stranger
    cannot end it.
    """
    if letter.invitation is not None or GARDEN not in letter.data:
        return letter.invitation
    with transaction.atomic():
        hold_garden(letter.data[GARDEN])
        garden = Garden.objects.filter(pk=letter.data[GARDEN], joining=Joining.OPEN).first()
        if garden is None or belongs(garden.pk, letter.email):
            return None
        # The link may have been made anew since the letter was taken up.
        if not Letter.objects.filter(pk=letter.pk, state=Letter.State.PENDING).exists():
            return None
        if not may_be_mailed(letter.email, garden.pk, now):
            return None
        found = waiting_invitation(garden.pk, letter.email)
        if found is None or standing_of(found, now) != Standing.WAITING:
            # Made when it was asked for, so that no letter seems older than its invitation.
            found = write_invitation(
                garden, email=letter.email, name=letter.data[NAME], now=letter.made_at
            )
        letter.invitation = found
        letter.save(update_fields=["invitation"])
    return found
