"""Prove that every plant and sowing stands where its entries say it stands."""

from typing import Any

from django.core.management.base import BaseCommand

from lifecycle.records.crops.proof import mismatches


class Command(BaseCommand):
    """Exit 0 when projection equals fold for the whole database, 1 otherwise."""

    help = "Compare the columns of every plant and sowing with the fold of its entries."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each difference."""
        found = 0
        for difference in mismatches():
            found += 1
            self.stdout.write(
                f"{difference.record}: {difference.column} is {difference.stored!r}, "
                f"its entries say {difference.folded!r}"
            )
        if found:
            self.stderr.write(f"{found} differences between columns and entries.")
            raise SystemExit(1)
        self.stdout.write("Every plant and sowing stands where its entries say.")
