"""Invitations: one letter to one address, good for one person, once, for 14 days."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from lifecycle.care.wording import short_date
from lifecycle.models import (
    Garden,
    Invitation,
    Membership,
    Person,
    Place,
    PlaceKind,
    Role,
    WaitingPerson,
)
from lifecycle.permissions import can, require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.people import audit
from lifecycle.records.people.addresses import plain_address
from lifecycle.records.people.invitation_letters import BY_NAME, take_letter, write_letter
from lifecycle.records.people.invitation_standing import LASTS, Standing, standing_of, why_not
from lifecycle.records.people.memberships import hold_garden, local_day
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import code_for, is_code, new_nonce

PURPOSE = "invitation"
_NOBODY = UUID(int=0)


def link_path(invitation: Invitation) -> str:
    """Return the secret address in the letter."""
    return f"/i/{invitation.pk}/{code_for(PURPOSE, invitation.pk, invitation.nonce)}"


def invitation_of(pk: int, code: str) -> Invitation | None:
    """Return the invitation at a secret address, or None: a wrong one, or one sent anew since."""
    found = Invitation.objects.filter(pk=pk).select_related("garden", "place", "made_by").first()
    # An unknown number is looked at like a known one, so that the time taken tells nothing.
    right = is_code(code, PURPOSE, pk, found.nonce if found is not None else _NOBODY)
    return found if right else None


def roles_to_give(actor: Membership) -> list[Role]:
    """Return the roles in which ``actor`` may invite."""
    if not can(actor, "people.invite"):
        return []
    return list(Role) if can(actor, "role.edit") else [Role.MEMBER]


def invite(
    actor: Membership,
    *,
    email: str,
    name: str = "",
    role: str = Role.MEMBER,
    place: Place | None = None,
    by_name: bool = True,
    now: datetime,
) -> Invitation:
    """Invite one address, by a letter; ``by_name`` False: the name is none of the actor's typing.

    Raises Refused for what is no address, for somebody who belongs to the garden or is invited
    already, and when no letter is left today; PermissionDenied for a role that only an owner
    gives.
    """
    require(actor, "people.invite")
    _check_role(actor, role)
    _check_place(actor, place)
    address = plain_address(email)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        if why := why_not_invite(actor.garden_id, address, now):
            raise Refused(why, "email")
        take_letter(actor.garden_id, address, now)
        invitation = write_invitation(
            actor.garden,
            email=address,
            name=plain_name(name, "person") if name.strip() else "",
            role=role,
            place=place,
            made_by=actor.person,
            now=now,
        )
        write_letter(invitation, now, by_name=by_name)
        audit.note(actor, "invited", now=now, invitation=invitation.pk, role=role)
    return invitation


def why_not_invite(garden_id: int, address: str, now: datetime) -> str:
    """Return why an address needs no invitation, in a sentence, or "".

    For coordinators only: a stranger must not learn who belongs to a garden.
    """
    if belongs(garden_id, address):
        return f"{address} belongs to the garden already."
    before = waiting_invitation(garden_id, address)
    if before is not None and standing_of(before, now) == Standing.WAITING:
        day = short_date(local_day(garden_id, before.sent_at), local_day(garden_id, now))
        return (
            f"{address} was invited already, on {day}, and has not answered yet. Send that "
            "invitation again from the list."
        )
    return ""


def belongs(garden_id: int, address: str) -> bool:
    """Return whether the person with this address is a member today."""
    return Membership.objects.filter(
        garden=garden_id, person__email=address, left_on__isnull=True
    ).exists()


def waiting_invitation(garden_id: int, address: str) -> Invitation | None:
    """Return the invitation of an address that is neither used nor taken back, expired or not."""
    return Invitation.objects.filter(
        garden=garden_id, email=address, used_at__isnull=True, revoked_at__isnull=True
    ).first()


def write_invitation(
    garden: Garden,
    *,
    email: str,
    name: str,
    now: datetime,
    role: str = Role.MEMBER,
    place: Place | None = None,
    made_by: Person | None = None,
) -> Invitation:
    """Write an invitation without its letter, inside a transaction that holds the garden.

    Whoever waited for a place under this address is invited with it.
    """
    still_open = Invitation.objects.filter(
        garden=garden, email=email, used_at__isnull=True, revoked_at__isnull=True
    )
    still_open.update(revoked_at=now, revoked_by=made_by)
    invitation = Invitation.objects.create(
        garden=garden,
        email=email,
        name=name,
        role=role,
        place=place,
        nonce=new_nonce(),
        made_by=made_by,
        made_at=now,
        sent_at=now,
        expires_at=now + LASTS,
    )
    WaitingPerson.objects.filter(
        garden=garden, email=email, invited_at__isnull=True, removed_at__isnull=True
    ).update(invited_at=now)
    return invitation


def send_again(actor: Membership, invitation: Invitation, *, now: datetime) -> Invitation:
    """Write a new letter with a new link, good for another 14 days; the older link ends.

    Raises Refused once it is used or taken back, and after several letters in a day.
    """
    require(actor, "people.invite")
    _check_role(actor, invitation.role)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        found = _held(actor, invitation)
        standing = standing_of(found, now)
        if standing == Standing.USED or found.revoked_at is not None:
            raise Refused(f"{why_not(standing)} Invite the address anew.")
        if belongs(actor.garden_id, found.email):
            raise Refused(f"{found.email} belongs to the garden already. Take the invitation back.")
        take_letter(actor.garden_id, found.email, now)
        by_name = found.letters.filter(**{f"data__{BY_NAME}": True}).exists()
        found.nonce, found.sent_at, found.expires_at = new_nonce(), now, now + LASTS
        # Whoever sends it stands behind it from now on, with the role and the bed it gives.
        found.made_by = actor.person
        found.save(update_fields=["nonce", "sent_at", "expires_at", "made_by"])
        write_letter(found, now, by_name=by_name)
        audit.note(actor, "invited", now=now, invitation=found.pk, role=found.role, again=True)
    return found


def take_back(actor: Membership, invitation: Invitation, *, now: datetime) -> None:
    """End an invitation before it is used. Raises Refused once it is used."""
    require(actor, "people.invite")
    _check_role(actor, invitation.role)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        found = _held(actor, invitation)
        if found.used_at is not None:
            raise Refused(
                "This invitation has been used. Take the person out of the garden instead."
            )
        if found.revoked_at is None:
            found.revoked_at, found.revoked_by = now, actor.person
            found.save(update_fields=["revoked_at", "revoked_by"])
            audit.note(actor, "invitation_revoked", now=now, invitation=found.pk)


def _held(actor: Membership, invitation: Invitation) -> Invitation:
    if invitation.garden_id != actor.garden_id:
        raise Refused("Choose an invitation of this garden.")
    return Invitation.objects.select_for_update().get(pk=invitation.pk)


def _check_role(actor: Membership, role: str) -> None:
    if role not in Role.values:
        raise Refused("Choose one of the garden’s roles.", "role")
    if role != Role.MEMBER:
        require(actor, "role.edit")


def _check_place(actor: Membership, place: Place | None) -> None:
    if place is None:
        return
    require(actor, "bed.holders")
    if place.garden_id != actor.garden_id or place.kind != PlaceKind.BED:
        raise Refused("Choose a bed of this garden.", "place")
