"""How often one asker may try one act: a bucket of tries that fills with time.

The table holds a keyed hash of act and asker, so that it tells nobody's address.
"""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.crypto import salted_hmac

from lifecycle.models import Allowance

LONGEST = timedelta(days=1)
"""No bucket takes longer to fill, so that an older row is as good as none."""
_WHOLE = 1 - 1e-9
"""A try, less what adding shares of it loses."""


def spend(act: str, asker: str, *, most: int, per: timedelta, now: datetime) -> bool:
    """Take one try from the asker's bucket; False when none is left.

    The bucket holds ``most`` tries and fills within ``per``, at most ``LONGEST``. Of many at
    once each takes its own. Inside a transaction that is taken back the try is taken back too.
    """
    assert most >= 1
    assert timedelta(0) < per <= LONGEST
    key = _key(act, asker)
    with transaction.atomic():
        Allowance.objects.bulk_create(
            [Allowance(key=key, left=most, at=now)], ignore_conflicts=True
        )
        bucket = Allowance.objects.select_for_update().get(key=key)
        # A clock that was set back neither fills a bucket nor empties it.
        passed = max(now - bucket.at, timedelta(0))
        left = min(float(most), bucket.left + most * (passed / per))
        granted = left >= _WHOLE
        bucket.left = max(left - 1, 0.0) if granted else left
        bucket.at = max(bucket.at, now)
        bucket.save(update_fields=["left", "at"])
    return granted


def give_back(act: str, asker: str, *, most: int) -> None:
    """Put a try back that turned out not to count."""
    with transaction.atomic():
        bucket = Allowance.objects.select_for_update().filter(key=_key(act, asker)).first()
        if bucket is not None:
            bucket.left = min(float(most), bucket.left + 1)
            bucket.save(update_fields=["left"])


def prune(*, now: datetime) -> int:
    """Delete buckets that are full again; returns how many went."""
    return Allowance.objects.filter(at__lt=now - LONGEST).delete()[0]


def _key(act: str, asker: str) -> str:
    return salted_hmac("lifecycle.allowance", f"{act}\n{asker}", algorithm="sha256").hexdigest()
