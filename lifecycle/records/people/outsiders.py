"""People who never came, or whose invitation is over: what is kept of them goes after a season."""

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F, Q

from lifecycle.models import Invitation, WaitingPerson

KEPT = timedelta(days=90)


def forget_outsiders(*, now: datetime) -> int:
    """Take name and address off invitations that are over, and rows off the waiting list.

    An invitation that was used, taken back or ran out ``KEPT`` ago keeps when it was made, by
    whom and with what role, for the audit. Returns how many rows it changed.
    """
    before = now - KEPT
    over = Invitation.objects.exclude(email="").filter(
        Q(used_at__lt=before) | Q(revoked_at__lt=before) | Q(expires_at__lt=before)
    )
    with transaction.atomic():
        # Of an address one invitation may wait, and one that has none may not be sent again.
        over.filter(used_at__isnull=True, revoked_at__isnull=True).update(
            revoked_at=F("expires_at")
        )
        blanked = over.update(email="", name="")
        off_the_list = Q(invited_at__lt=before) | Q(removed_at__lt=before)
        gone, _ = WaitingPerson.objects.filter(off_the_list).delete()
    return blanked + gone
