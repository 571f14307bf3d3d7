"""Letters of invitations: what goes with them, and how many a garden may send in a day."""

from datetime import datetime, timedelta

from django.db import transaction

from lifecycle.models import Invitation, Letter
from lifecycle.records.people import allowance, letters
from lifecycle.records.refusal import Refused

BY_NAME = "by_name"
"""Of a letter's data: that it greets by name."""
LETTERS_A_DAY = 4
"""To one address from one garden: for somebody who cannot find it, not to pester anybody."""
LETTERS_OF_A_GARDEN = 200
"""In a day, to all addresses: as many as the longest list has lines."""
_DAY = timedelta(days=1)


def write_letter(invitation: Invitation, now: datetime, *, by_name: bool) -> None:
    """Write the letter with the link that works now.

    ``by_name``: it greets by the name, which somebody of the garden typed. The words of a
    stranger go to no address that a stranger chose.
    """
    letters.write(
        invitation.email,
        Letter.About.INVITATION,
        now=now,
        invitation=invitation,
        data={BY_NAME: True} if by_name else {},
        lasts=invitation.expires_at - now,
    )


def take_letter(garden_id: int, address: str, now: datetime) -> None:
    """Count one more letter of a garden to an address. Raises Refused when none is left today.

    Taking an invitation back gives no letter back.
    """
    # Of a letter that is refused neither count keeps anything.
    with transaction.atomic():
        if not may_be_mailed(address, garden_id, now):
            raise Refused(
                f"{address} got several letters today. Ask them to look where their mail "
                "program puts what it takes for advertising, and try again tomorrow.",
                "email",
            )
        if not allowance.spend(
            "invitation-letters", str(garden_id), most=LETTERS_OF_A_GARDEN, per=_DAY, now=now
        ):
            raise Refused(
                f"The garden has mailed {LETTERS_OF_A_GARDEN} invitations within a day, which is "
                "the most. Send this one tomorrow.",
                "email",
            )


def may_be_mailed(address: str, garden_id: int, now: datetime) -> bool:
    """Return whether one more letter may go to an address from this garden today; counts it."""
    return allowance.spend(
        "invitation-letter", f"{garden_id}:{address}", most=LETTERS_A_DAY, per=_DAY, now=now
    )
