"""The three ticks. Each is a function of the database and ``now``; nothing else schedules."""

from collections.abc import Callable
from datetime import datetime

from lifecycle.models import Heartbeat
from lifecycle.reminders.announce import announce_all
from lifecycle.reminders.dispatch import dispatch_all
from lifecycle.reminders.worklist import plan_all


def plan_tick(*, now: datetime) -> int:
    """Refresh the work list; returns how many records were planned."""
    return _beat("plan", plan_all, now)


def remind_tick(*, now: datetime) -> int:
    """Announce tasks whose window opened; returns how many announcements were written."""
    return _beat("remind", announce_all, now)


def dispatch_tick(*, now: datetime) -> int:
    """Send messages that are due; returns how many went out."""
    return _beat("dispatch", dispatch_all, now)


TICKS: dict[str, Callable[..., int]] = {
    "plan": plan_tick,
    "remind": remind_tick,
    "dispatch": dispatch_tick,
}


def _beat(name: str, work: Callable[..., int], now: datetime) -> int:
    done = work(now=now)
    Heartbeat.objects.update_or_create(name=name, defaults={"at": now})
    return done
