"""Deliver what is due: claim, look again, write, send, stamp.

A crash before sending loses nothing: the lease runs out and the row is due again. A crash
between sending and the stamp can repeat one mail, under the same Message-ID; a message on
the page is sent by its stamp, so it appears exactly once.
"""

import logging
import time
from datetime import datetime, timedelta
from uuid import UUID

from django.db import InterfaceError, OperationalError

from lifecycle.models import Message
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.carrier import Carrier
from lifecycle.reminders.messages.claiming import BATCH, claim, expire, give_up, held
from lifecycle.reminders.messages.failure_notice import tell_of_failures
from lifecycle.reminders.messages.mail_parts import write
from lifecycle.reminders.messages.pruning import prune_daily
from lifecycle.reminders.messages.send_time import OpenHours, Standings
from lifecycle.reminders.messages.settling import cancel, give_back, put_off, wait_until
from lifecycle.reminders.messages.stamping import is_held, stamp
from lifecycle.reminders.messages.transports import TransportError, Unreachable
from lifecycle.reminders.messages.undisturbed import undisturbed

RUN_SECONDS = 200.0
"""A run ends itself before a job's time limit does; the next one goes on."""

log = logging.getLogger(__name__)


def dispatch_all(*, now: datetime) -> int:
    """Expire stale messages and send what is due. Returns how many were sent."""
    expire(now=now)
    with Carrier() as carrier:
        sent = _Run(carrier, now).send_all()
    # Last, so that no fault in them keeps a message from going out.
    tell_of_failures(now=now)
    prune_daily(now=now)
    return sent


class _Run:
    """One run of the dispatcher, and the channels that turned out closed to it."""

    def __init__(self, carrier: Carrier, now: datetime) -> None:
        self._carrier = carrier
        self._now = now
        self._hours = OpenHours(now)
        self._closed: tuple[str, ...] = ()
        self._began = time.monotonic()

    def _elapsed(self) -> float:
        return time.monotonic() - self._began

    def send_all(self) -> int:
        sent = 0
        while self._elapsed() < RUN_SECONDS:
            token, ids = claim(now=self._now, without=self._closed)
            sent += self._send_batch(token, ids)
            if len(ids) < BATCH:
                break
        return sent

    def _send_batch(self, token: UUID, ids: list[int]) -> int:
        standings = Standings(token)
        sent = 0
        for pk in ids:
            message = standings.of(pk)
            if message is None:  # somebody else has it
                continue
            if message.channel in self._closed or self._elapsed() >= RUN_SECONDS:
                give_back(message, token)
            elif self._may_go(message, token, standings):
                sent += self._send(message, token)
        return sent

    def _may_go(self, message: Message, token: UUID, standings: Standings) -> bool:
        if not standings.is_wanted(message):
            cancel(message, token)
            return False
        opens = self._hours.wait_for(message)
        goes_at = opens or self._now + timedelta(seconds=self._elapsed())
        if goes_at >= message.expires_at:
            give_up(list(held(token).filter(pk=message.pk).values_list("pk", flat=True)))
        elif opens is None:
            return True
        else:
            wait_until(message, token, opens)
        return False

    def _send(self, message: Message, token: UUID) -> bool:
        try:
            composed = COMPOSERS[message.about](message, self._now)
            if composed is None:
                cancel(message, token)
                return False
            write(message, composed)
            if not is_held(message, token):  # the lease ran out on a slow mail server
                return False
            with undisturbed():
                self._carrier.deliver(message, composed)
                return stamp(message, token, self._now)
        except (OperationalError, InterfaceError):
            # The database went away, which is no fault of this message: the lease brings it back.
            raise
        except Unreachable as problem:
            self._closed = (*self._closed, message.channel)
            give_back(message, token, str(problem))
        except TransportError as problem:
            put_off(message, token, str(problem), self._now, lasting=problem.permanent)
        except Exception as problem:  # one broken message must not hold up the rest
            log.exception("Message %s could not be made.", message.key)
            put_off(message, token, repr(problem), self._now, lasting=False)
        return False
