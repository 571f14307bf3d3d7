"""The ticks. Each is a function of the database and ``now``; nothing else schedules."""

from collections.abc import Callable
from datetime import datetime

from lifecycle.models import Heartbeat
from lifecycle.records.work.cover import cover_all
from lifecycle.reminders.messages.digest import digest_all
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.nights.asking import ask_all
from lifecycle.reminders.nights.frost_watch import watch_all
from lifecycle.reminders.people.handing import hand_over_all
from lifecycle.reminders.people.leaving import leaving_all
from lifecycle.reminders.people.letters import send_letters
from lifecycle.reminders.weather.forecasting import fetch_all
from lifecycle.reminders.work.announce import announce_all
from lifecycle.reminders.work.chore_list import plan_chores
from lifecycle.reminders.work.escalation import escalate_all
from lifecycle.reminders.work.promotion import promote_all
from lifecycle.reminders.work.worklist import plan_all


def plan_tick(*, now: datetime) -> int:
    """Refresh the work list, carry out hand-overs, see to who left; returns how much was done."""

    def plan(*, now: datetime) -> int:
        # What follows people must never keep the plants waiting.
        planned = plan_all(now=now) + plan_chores(now=now)
        # Whoever covers for somebody gets what the plan has just made.
        followed = hand_over_all(now=now) + leaving_all(now=now) + cover_all(now=now)
        return planned + followed

    return _beat("plan", plan, now)


def remind_tick(*, now: datetime) -> int:
    """Tell of what is due, late, closed by a forecast or in the week ahead; returns how much."""

    def remind(*, now: datetime) -> int:
        # What a forecast closes comes first: the morning message may have to carry it.
        told = promote_all(now=now) + announce_all(now=now)
        return told + escalate_all(now=now) + digest_all(now=now)

    return _beat("remind", remind, now)


def dispatch_tick(*, now: datetime) -> int:
    """Send letters and messages that are due; returns how many went out."""

    def send(*, now: datetime) -> int:
        # Whoever asked for a link to sign in is waiting for it.
        return send_letters(now=now) + dispatch_all(now=now)

    return _beat("dispatch", send, now)


def forecast_tick(*, now: datetime) -> int:
    """Fetch the forecasts that are due; returns how many issues were kept."""
    return _beat("forecast", fetch_all, now)


def frost_tick(*, now: datetime) -> int:
    """Judge the coming nights, and ask who is to help; returns how much changed."""

    def watch_and_ask(*, now: datetime) -> int:
        return watch_all(now=now) + ask_all(now=now)

    return _beat("frost", watch_and_ask, now)


TICKS: dict[str, Callable[..., int]] = {
    "forecast": forecast_tick,
    "plan": plan_tick,
    "frost": frost_tick,
    "remind": remind_tick,
    "dispatch": dispatch_tick,
}


def _beat(name: str, work: Callable[..., int], now: datetime) -> int:
    done = work(now=now)
    Heartbeat.objects.update_or_create(name=name, defaults={"at": now})
    return done
