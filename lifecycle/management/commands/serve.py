"""`manage.py serve`: the web server and the scheduler in one command, without a broker."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from garden_site.serving import AddressError, Crew, Program, address_to_bind, answers, listen, shown


class Command(BaseCommand):
    help = "Serve the site on this machine: web server and scheduler, until Ctrl-C."
    requires_migrations_checks = True

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--bind", default="", metavar="HOST:PORT", help="listen here instead of at SITE_URL"
        )
        parser.add_argument("--threads", type=int, default=4, help="web threads, 4 by default")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.BROKER_URL:
            raise CommandError(
                "BROKER_URL is set, so this site runs as separate services: start gunicorn, a "
                "Celery worker and one beat as compose.yaml does, or unset BROKER_URL."
            )
        try:
            host, port = address_to_bind(settings.SITE_URL, options["bind"])
            listener = listen(host, port)
        except AddressError as problem:
            raise CommandError(str(problem)) from None
        url = shown(host, listener.getsockname()[1])
        crew = Crew()
        crew.heed_signals()
        try:
            crew.start(_web_server(listener.fileno(), options["threads"]), [listener.fileno()])
            crew.start(_scheduler())
            # With this copy open, the port would stay taken after the web server has gone.
            listener.close()
            ended = crew.wait(until=lambda: answers(f"{url}/healthz"))
            if not ended and not crew.asked_to_stop:
                self.stdout.write(f"Ready at {url} (Ctrl-C stops it)")
                self.stdout.flush()
                ended = crew.wait()
        finally:
            crew.end()
        if ended:
            raise CommandError(f"The {ended} ended by itself; its messages above say why.")


def _web_server(handle: int, threads: int) -> Program:
    return Program(
        "web server",
        [
            *(sys.executable, "-m", "gunicorn", "garden_site.wsgi:application"),
            *("--bind", f"fd://{handle}", "--worker-class", "gthread"),
            *("--workers", "1", "--threads", str(max(1, threads))),
            *("--graceful-timeout", "5", "--log-level", "warning"),
            # Its default place is shared by every server this user runs.
            "--no-control-socket",
        ],
    )


def _scheduler() -> Program:
    return Program(
        "scheduler",
        [
            *(sys.executable, "-m", "celery", "--quiet", "-A", "garden_site", "beat"),
            *("--schedule", settings.CELERY_BEAT_SCHEDULE_FILENAME),
            *("--loglevel", "INFO"),
        ],
    )
