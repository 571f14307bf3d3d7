"""How the ticks stand: when each last ran to its end, and whether that is too long ago."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import cast

from django.conf import settings

from lifecycle.models import Heartbeat

MISSED = 5
"""Intervals without a beat after which a tick is late."""
LEAST = timedelta(minutes=10)


class Pulse(StrEnum):
    """Whether a tick runs."""

    ON_TIME = "on time"
    LATE = "late"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class Tick:
    """One tick: how often it should run, when it last did, and what to think of that."""

    name: str
    every: timedelta
    at: datetime | None
    pulse: Pulse

    @property
    def patience(self) -> timedelta:
        """How old its last beat may be."""
        return patience(self.every)


def patience(every: timedelta) -> timedelta:
    """Return how old the last beat of a tick with this interval may be."""
    return max(MISSED * every, LEAST)


def ticks_at(now: datetime) -> list[Tick]:
    """Return every scheduled tick as it stands, in the order of the schedule. One query."""
    beats = dict(Heartbeat.objects.values_list("name", "at"))
    found = []
    for entry, plan in settings.CELERY_BEAT_SCHEDULE.items():
        name, every = entry.removesuffix("_tick"), cast(timedelta, plan["schedule"])
        at = beats.get(name)
        if at is None:
            pulse = Pulse.NEVER
        else:
            pulse = Pulse.LATE if now - at > patience(every) else Pulse.ON_TIME
        found.append(Tick(name, every, at, pulse))
    return found
