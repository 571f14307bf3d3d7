"""Load the invented demonstration garden into an empty database."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from lifecycle.demo.loading import load
from lifecycle.demo.scenario import PASSWORD
from lifecycle.records.ground.gardens import nobody_yet
from lifecycle.records.refusal import Refused


class Command(BaseCommand):
    """Refuses to load over anything; ``--if-empty`` passes over a database in use."""

    help = "Load the invented demonstration garden into an empty database."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take ``--if-empty``."""
        parser.add_argument(
            "--if-empty", action="store_true", help="do nothing when there are people already"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Load, and say how to sign in."""
        if options["if_empty"] and not nobody_yet():
            return
        self.stdout.write("Loading an invented demonstration garden ...")
        try:
            made = load(now=timezone.now())
        except Refused as problem:
            raise CommandError(str(problem)) from None
        self.stdout.write(", ".join(f"{number} {name}" for name, number in made.items()))
        self.stdout.write(
            f"Sign in as coordinator@demo.example with the password {PASSWORD}. "
            "Everything in it is invented."
        )
