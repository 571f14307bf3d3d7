"""Ask people for a frost night, one after the other, and tell them what changes.

Each step is a function of the database and ``now``. A message is written once by its key, an
ask once a night and person, so that two workers, a doubled tick and a missed one do no harm.
"""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet

from lifecycle.models import Ask, FrostBed, FrostNight
from lifecycle.reminders.nights.ask_ahead import note_ahead, old_data, plan_ahead
from lifecycle.reminders.nights.ask_evening import ask_outcome, last_look, uncover, update
from lifecycle.reminders.nights.ask_ladder import ASKS, climb, stop

log = logging.getLogger(__name__)

STEPS: tuple[Callable[[FrostNight, datetime], int], ...] = (
    stop,
    note_ahead,
    plan_ahead,
    old_data,
    climb,
    last_look,
    update,
    uncover,
    ask_outcome,
)
"""What may be due for a night, in the order in which it is looked at."""


def ask_all(*, now: datetime) -> int:
    """Take the next step of every night at hand. Returns how many people were told."""
    told = 0
    for night in nights_at_hand(now):
        try:
            told += ask_night(night, now=now)
        except Exception:  # one broken night must not silence the others
            log.exception("The asks of frost night %s could not be made.", night.pk)
    return told


def ask_night(night: FrostNight, *, now: datetime) -> int:
    """Take every step that is due for one night. Returns how many people were told."""
    return sum(step(night, now) for step in STEPS)


def nights_at_hand(now: datetime) -> QuerySet[FrostNight]:
    """Return the nights that may ask for something, from two days back to four days ahead.

    The date of a night is its site's, so there is a day to spare on both sides.
    """
    today = now.date()
    asked = Exists(Ask.objects.filter(frost_night=OuterRef("pk")))
    covered = Exists(FrostBed.objects.filter(frost_night=OuterRef("pk"), mark=FrostBed.Mark.DONE))
    return (
        FrostNight.objects.filter(night__range=(today - timedelta(2), today + timedelta(4)))
        .filter(~Q(state=FrostNight.State.QUIET) | asked | covered)
        .select_related("site", "garden")
        .prefetch_related(ASKS)
        .order_by("night", "pk")
    )
