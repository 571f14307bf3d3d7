"""`manage.py climate FILE`: what a daily record says about a site, without a database."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from lifecycle.agronomy.climate_text import climate_text
from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise


class Command(BaseCommand):
    help = "Hardiness zone, freeze dates and warm nights of a daily temperature record."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="daily record, gzipped or not; - reads standard input")
        parser.add_argument("--units", choices=("C", "F", "tenths"), help="units of the file")
        parser.add_argument("--latitude", type=float, help="degrees, south negative")
        parser.add_argument("--window", choices=("season", "calendar"), default="season")
        parser.add_argument("--from", dest="first_year", type=int, metavar="YEAR")
        parser.add_argument("--to", dest="last_year", type=int, metavar="YEAR")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            record = read_daily_record(
                file_bytes(options["file"]),
                units=options["units"],
                latitude=options["latitude"],
            )
            climate = summarise(
                record,
                latitude=options["latitude"],
                window=options["window"],
                first_year=options["first_year"],
                last_year=options["last_year"],
            )
        except RecordError as error:
            raise CommandError(str(error), returncode=2) from error
        if options["json"]:
            self.stdout.write(json.dumps(climate.as_report(), indent=2))
        else:
            self.stdout.write(climate_text(climate))


def file_bytes(name: str) -> bytes:
    """Return a file's content, "-" being standard input; CommandError says what is wrong."""
    if name == "-":
        return sys.stdin.buffer.read()
    if not name:
        raise RecordError("The file's name is empty; give one file of daily temperatures.")
    path = Path(name)
    if path.is_dir():
        raise RecordError(f"{name} is a directory; give one file of daily temperatures.")
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise RecordError(f"There is no file {name}; check the path.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise RecordError(f"{name} cannot be read ({reason}); give a readable file.") from None
