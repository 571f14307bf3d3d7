"""`manage.py rehearse FILE`: the plan over every year of a daily record, without a database."""

import json
import sys
from argparse import ArgumentParser
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandError, CommandParser

from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.hemisphere import hemisphere_of
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.care.rehearsal import (
    CROP_KEYS,
    Advice,
    Winter,
    rehearse,
    under_setting,
    usual_winter,
)
from lifecycle.care.rehearsal_text import as_report, as_text
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.handbook import CROPS
from lifecycle.management.commands.climate import file_bytes


class Command(BaseCommand):
    help = "When the plan would have said plant out and lift, and what the nights then did."
    requires_system_checks: list[str] = []

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        if parser.called_from_command_line:
            parser.error = self._refuse  # type: ignore[method-assign]
        return parser

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="daily record, gzipped or not; - reads standard input")
        parser.add_argument("--crop", choices=tuple(CROP_KEYS), default="pepper")
        parser.add_argument(
            "--route",
            choices=tuple(winter.value for winter in Winter),
            help="where it spends the winter; what is usual in the record's zone unless given",
        )
        parser.add_argument("--night", choices=("50", "55"), default="55", help="degrees F")
        parser.add_argument(
            "--by",
            choices=tuple(advice.value for advice in Advice),
            default=Advice.NIGHTS.value,
            help="plant out by the dates and the next seven nights, or by the dates alone",
        )
        parser.add_argument(
            "--as-known", action="store_true", help="know the site by earlier years only"
        )
        parser.add_argument("--units", choices=("C", "F", "tenths"), help="units of the file")
        parser.add_argument("--latitude", type=float, help="degrees, south negative")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        latitude = options["latitude"]
        try:
            record = read_daily_record(
                file_bytes(options["file"]), units=options["units"], latitude=latitude
            )
            hemisphere, _ = hemisphere_of(record, latitude)
            sites = known_sites(record, hemisphere, as_known=options["as_known"])
        except RecordError as error:
            raise CommandError(str(error)) from error
        crop = CROPS[CROP_KEYS[options["crop"]]]
        winter = Winter(options["route"] or usual_winter(next(iter(sites.values())), crop))
        rehearsal = rehearse(
            record,
            under_setting(sites, options["night"]),
            crop,
            winter,
            Advice(options["by"]),
        )
        settings = {
            "crop": options["crop"],
            "route": winter.value,
            "night": int(options["night"]),
            "by": options["by"],
            "known_by": "earlier years" if options["as_known"] else "all other years",
            "hemisphere": hemisphere,
        }
        if options["json"]:
            self.stdout.write(json.dumps(as_report(rehearsal, settings), indent=2))
        else:
            self.stdout.write(as_text(rehearsal, settings))

    def _refuse(self, message: str) -> NoReturn:
        self.stderr.write(f"{message[0].upper()}{message[1:]}. See manage.py rehearse --help.")
        sys.exit(1)
