"""Invitations for tests."""

from typing import Any

from lifecycle.models import Invitation, Membership
from lifecycle.records.people.invitations import invite
from tests.factories import NOON

ADDRESS = "anna@newcomer.example"


def an_invitation(actor: Membership, email: str = ADDRESS, **more: Any) -> Invitation:
    """Invite somebody to the actor's garden, at NOON unless ``now`` says otherwise."""
    return invite(actor, email=email, **{"name": "Anna", "now": NOON, **more})
