"""Celery's door: each job runs one tick. A lost or doubled job changes nothing."""

from datetime import datetime

from celery import shared_task
from django.utils import timezone

from lifecycle.reminders import ticks


def _moment(at: str | None) -> datetime:
    """Return the instant to work for: now, or the one given for a rehearsal."""
    return timezone.now() if at is None else datetime.fromisoformat(at)


@shared_task
def forecast_tick(at: str | None = None) -> None:
    """Fetch forecasts."""
    ticks.forecast_tick(now=_moment(at))


@shared_task
def frost_tick(at: str | None = None) -> None:
    """Judge the coming nights and ask people."""
    ticks.frost_tick(now=_moment(at))


@shared_task
def plan_tick(at: str | None = None) -> None:
    """Refresh the work list."""
    ticks.plan_tick(now=_moment(at))


@shared_task
def remind_tick(at: str | None = None) -> None:
    """Announce what is due."""
    ticks.remind_tick(now=_moment(at))


@shared_task
def dispatch_tick(at: str | None = None) -> None:
    """Send what is due."""
    ticks.dispatch_tick(now=_moment(at))
