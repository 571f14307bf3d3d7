"""`manage.py rehearse_frost FILE`: a frost rule over the nights of a record, without a database."""

import json
import sys
from argparse import ArgumentParser
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandError, CommandParser

from lifecycle.agronomy.daily_record import RecordError
from lifecycle.agronomy.frost_backtest import backtest
from lifecycle.agronomy.frost_backtest_text import as_text
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.management.commands.climate import file_bytes


class Command(BaseCommand):
    help = "How many frost nights a rule would have called, missed and called for nothing."
    requires_system_checks: list[str] = []

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        if parser.called_from_command_line:
            parser.error = self._refuse  # type: ignore[method-assign]
        return parser

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="daily record, gzipped or not; - reads standard input")
        parser.add_argument(
            "--forecast-error",
            type=float,
            required=True,
            metavar="SD",
            help="by how many C the forecast of the day itself misses, as a standard deviation",
        )
        parser.add_argument(
            "--limit", type=float, default=0.0, help="the low in C that kills, 0 by default"
        )
        parser.add_argument(
            "--cost-loss",
            type=float,
            default=0.05,
            help="cost of acting over the loss when nobody does, 0.05 (1 in 20) by default",
        )
        parser.add_argument("--seed", type=int, default=1, help="of the made-up forecasts")
        parser.add_argument("--units", choices=("C", "F", "tenths"), help="units of the file")
        parser.add_argument("--latitude", type=float, help="degrees, south negative")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["seed"] < 0:
            raise CommandError(f"The seed {options['seed']} is below 0; give 0 or more.")
        try:
            record = read_daily_record(
                file_bytes(options["file"]), units=options["units"], latitude=options["latitude"]
            )
            test = backtest(
                record,
                limit_c=options["limit"],
                ratio=options["cost_loss"],
                error_sd=options["forecast_error"],
                seed=options["seed"],
            )
        except (RecordError, ValueError) as problem:
            raise CommandError(str(problem)) from problem
        if options["json"]:
            asked = {
                "limit_c": options["limit"],
                "cost_loss": options["cost_loss"],
                "forecast_error_c": options["forecast_error"],
                "seed": options["seed"],
            }
            self.stdout.write(json.dumps({**test.as_report(), "settings": asked}, indent=2))
        else:
            self.stdout.write(as_text(test))

    def _refuse(self, message: str) -> NoReturn:
        self.stderr.write(
            f"{message[0].upper()}{message[1:]}. See manage.py rehearse_frost --help."
        )
        sys.exit(1)
