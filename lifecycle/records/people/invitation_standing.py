"""Where an invitation stands: it waits, or is used, taken back or too old."""

from datetime import datetime, timedelta
from enum import StrEnum
from typing import assert_never

from lifecycle.models import Invitation, Membership, Role
from lifecycle.permissions import ROLE_ACTIONS

LASTS = timedelta(days=14)
_ROLE_GIVERS = [role for role, actions in ROLE_ACTIONS.items() if "role.edit" in actions]


class Standing(StrEnum):
    """Where an invitation stands."""

    WAITING = "waiting"
    USED = "used"
    TAKEN_BACK = "taken back"
    EXPIRED = "expired"


def standing_of(invitation: Invitation, now: datetime) -> Standing:
    """Return where an invitation stands at ``now``."""
    if invitation.used_at is not None:
        return Standing.USED
    if invitation.expires_at <= (invitation.revoked_at or now):
        return Standing.EXPIRED
    return Standing.WAITING if invitation.revoked_at is None else Standing.TAKEN_BACK


def why_not(standing: Standing) -> str:
    """Return the sentence that says why an invitation cannot be used; "" where it can."""
    match standing:
        case Standing.WAITING:
            return ""
        case Standing.USED:
            return "This invitation has been used. It works once."
        case Standing.TAKEN_BACK:
            return "This invitation was taken back."
        case Standing.EXPIRED:
            return f"This invitation was good for {LASTS.days} days, and they are over."
    assert_never(standing)


def standing_for_reader(invitation: Invitation, now: datetime) -> Standing:
    """Return where an invitation stands for whoever opens its link.

    One in a role that only an owner gives ends when its owner is none any more.
    """
    standing = standing_of(invitation, now)
    if standing == Standing.WAITING and not _still_given(invitation):
        return Standing.TAKEN_BACK
    return standing


def _still_given(invitation: Invitation) -> bool:
    if invitation.role == Role.MEMBER:
        return True
    return Membership.objects.filter(
        garden=invitation.garden_id,
        person=invitation.made_by_id,
        left_on__isnull=True,
        role__in=_ROLE_GIVERS,
    ).exists()
