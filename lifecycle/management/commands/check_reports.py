"""Prove that the figures of every closed year come out again as they were stored."""

from typing import Any

from django.core.management.base import BaseCommand

from lifecycle.models import ClosedYear
from lifecycle.records.year.closing import all_differences


class Command(BaseCommand):
    """Exit 0 when every closed year's figures come out again, 1 otherwise."""

    help = "Work out the report of every closed year anew and compare it with what was stored."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each difference."""
        found = 0
        for closed, difference in all_differences():
            found += 1
            self.stdout.write(
                f"{closed.garden}, {closed.year}: {difference.key} was stored as "
                f"{difference.stored}, and comes out as {difference.found}"
            )
        if found:
            self.stderr.write(f"{found} figures of closed years do not come out as stored.")
            raise SystemExit(1)
        number = ClosedYear.objects.count()
        self.stdout.write(f"Closed years: {number}. Every figure comes out as it was stored.")
