"""Run the ticks once, for cron and for debugging."""

from argparse import ArgumentParser
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from lifecycle.reminders.ticks import TICKS


class Command(BaseCommand):
    """``manage.py tick`` runs all of them; name some to run only those."""

    help = "Fetch forecasts, refresh the work list, judge the nights, announce, send."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the ticks' names and an instant to work for."""
        parser.add_argument("names", nargs="*", choices=[[], *TICKS], help="all unless named")
        parser.add_argument("--at", help="work for this instant, such as 2026-05-12T07:00+00:00")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the ticks in order and say what each did."""
        now = _moment(options["at"])
        for name in options["names"] or TICKS:
            self.stdout.write(f"{name}: {TICKS[name](now=now)}")


def _moment(text: str | None) -> datetime:
    if text is None:
        return timezone.now()
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise CommandError(
            f"“{text}” is not an instant. Give one such as 2026-05-12T07:00+00:00."
        ) from None
    if not 1990 <= moment.year <= 2200:
        raise CommandError(f"{moment.year} is too far away. Give an instant from 1990 to 2200.")
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
