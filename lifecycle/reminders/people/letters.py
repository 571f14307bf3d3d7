"""Send letters: claim, write, send, stamp, as messages are sent, and sweep away what is over.

A crash before sending loses nothing: the lease runs out and the letter is due again. A crash
between sending and the stamp can repeat one mail, under the same Message-ID.
"""

import logging
import time
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db import InterfaceError, OperationalError
from django.db.models import F, Q, QuerySet

from lifecycle.models import Letter
from lifecycle.reminders.messages.carrier import Carrier
from lifecycle.reminders.messages.claiming import BATCH, LEASE
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.messages.mail_head import id_of
from lifecycle.reminders.messages.mail_parts import as_document, as_text, subject_line
from lifecycle.reminders.messages.settling import BACKOFF, ERROR_LENGTH, wait_after
from lifecycle.reminders.messages.stamping import patiently
from lifecycle.reminders.messages.transports import TransportError, Unreachable
from lifecycle.reminders.messages.undisturbed import undisturbed
from lifecycle.reminders.people.letter_words import WORDS

RUN_SECONDS = 100.0
"""A run of many letters ends itself, so that messages get their turn; the next one goes on."""
KEPT: Mapping[str, timedelta] = {
    Letter.About.SIGN_IN: timedelta(hours=1),
    Letter.About.INVITATION: timedelta(days=30),
    Letter.About.LEAVING: timedelta(days=30),
    Letter.About.ERASED: timedelta(0),
}
"""How long a letter's row stays once its time is over.

The last word before an erasure stays until then, as proof that it was said; erasing forgets it.
"""
_SENT, _PENDING = Letter.State.SENT, Letter.State.PENDING

log = logging.getLogger(__name__)


def send_letters(*, now: datetime) -> int:
    """Send what is due, give up what is too old, sweep. Returns how many were sent."""
    sweep(now=now)
    sent, began = 0, time.monotonic()
    with Carrier() as carrier:
        while time.monotonic() - began < RUN_SECONDS:
            token, letters = claim(now=now)
            for letter in letters:
                try:
                    sent += _send(carrier, letter, token, now)
                except Unreachable as problem:
                    _give_back(token, str(problem))
                    return sent
            if len(letters) < BATCH:
                break
    return sent


def claim(*, now: datetime) -> tuple[UUID, list[Letter]]:
    """Take up to ``BATCH`` due letters; two callers never take the same one."""
    token = uuid4()
    due = Letter.objects.filter(
        _free(now), state=_PENDING, not_before__lte=now, expires_at__gt=now
    ).order_by("not_before", "pk")
    chosen = list(due.values_list("pk", flat=True)[:BATCH])
    due.order_by().filter(pk__in=chosen).update(
        claim=token, lease_until=now + LEASE, attempts=F("attempts") + 1
    )
    mine = _held(token).select_related("person", "invitation__garden")
    return token, list(mine.order_by("not_before", "pk"))


def sweep(*, now: datetime) -> None:
    """Give up letters whose time is over, and delete those that are kept no longer."""
    Letter.objects.filter(_free(now), state=_PENDING, expires_at__lte=now).update(
        state=Letter.State.FAILED, claim=None, lease_until=None
    )
    over = Q()
    for about, kept in KEPT.items():
        over |= Q(about=about, expires_at__lt=now - kept)
    Letter.objects.filter(_free(now), over).delete()


def _send(carrier: Carrier, letter: Letter, token: UUID, now: datetime) -> bool:
    try:
        composed = WORDS[letter.about](letter, now)
        if composed is None:
            _settle(letter, token, state=Letter.State.CANCELLED)
            return False
        if not _held(token).filter(pk=letter.pk).exists():
            return False
        with undisturbed():
            _mail(carrier, letter, composed)
            return patiently(lambda: _settle(letter, token, state=_SENT, sent_at=now))
    except (OperationalError, InterfaceError, Unreachable):
        # No fault of this letter: the lease, or being given back, makes it due again.
        raise
    except TransportError as problem:
        _put_off(letter, token, str(problem), now, lasting=problem.permanent)
    except Exception as problem:  # one broken letter must not hold up the rest
        log.exception("Letter %s could not be made.", letter.pk)
        _put_off(letter, token, repr(problem), now, lasting=False)
    return False


def _mail(carrier: Carrier, letter: Letter, composed: Composed) -> None:
    subject = subject_line(composed)
    carrier.mail(
        letter.email,
        subject=subject,
        body=as_text(composed.lines),
        html=as_document(subject, composed.lines),
        headers={"Message-ID": message_id(letter), "Auto-Submitted": "auto-generated"},
    )


def message_id(letter: Letter) -> str:
    """Return the same Message-ID for the same letter, so that a repeat can be recognised."""
    return id_of(f"letter:{letter.pk}:{letter.nonce.hex}")


def _put_off(letter: Letter, token: UUID, why: str, now: datetime, *, lasting: bool) -> None:
    """Note a failed attempt: tried again after a growing wait, or failed for good."""
    if lasting or letter.attempts > len(BACKOFF):
        log.error("Letter %s failed: %s", letter.pk, why)
        _settle(letter, token, state=Letter.State.FAILED, last_error=why[:ERROR_LENGTH])
    else:
        again = now + wait_after(f"letter:{letter.pk}", letter.attempts)
        _settle(letter, token, not_before=again, last_error=why[:ERROR_LENGTH])


def _give_back(token: UUID, why: str) -> None:
    """Free every letter that was claimed and not tried: the attempt does not count."""
    _held(token).update(
        claim=None,
        lease_until=None,
        attempts=F("attempts") - 1,
        last_error=why[:ERROR_LENGTH],
    )


def _settle(letter: Letter, token: UUID, **columns: Any) -> bool:
    settled = _held(token).filter(pk=letter.pk)
    return bool(settled.update(claim=None, lease_until=None, **columns))


def _held(token: UUID) -> QuerySet[Letter]:
    return Letter.objects.filter(claim=token, state=_PENDING)


def _free(now: datetime) -> Q:
    return Q(lease_until__isnull=True) | Q(lease_until__lt=now)
