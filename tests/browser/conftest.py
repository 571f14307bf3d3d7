"""A real headless Chromium, a clock that can be set, and ticks run in either way."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime
from datetime import time as hour
from pathlib import Path

import pytest
import time_machine
from celery import Celery
from django.conf import settings
from django.core import mail
from django.db import connection
from playwright.sync_api import Browser, Page, sync_playwright

from lifecycle import jobs
from lifecycle.models import Heartbeat

# Playwright's own loop makes Django think that it is called from asynchronous code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

NOON = hour(18, 0, tzinfo=UTC)  # noon in the middle of North America
NAMES = ("plan", "remind", "dispatch")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Return Debian's Chromium, driven headless."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium",
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield browser
        browser.close()


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """Return a page as wide as a small phone."""
    context = chromium.new_context(viewport={"width": 360, "height": 760})
    context.set_default_timeout(15_000)
    yield context.new_page()
    context.close()


class Clock:
    """The site's clock, set to noon of one day after another."""

    def __init__(self) -> None:
        self._travel: time_machine.travel | None = None
        self.day = date(2026, 1, 1)

    @property
    def now(self) -> datetime:
        """Noon of the day."""
        return datetime.combine(self.day, NOON)

    def set(self, day: date) -> None:
        """Go to noon of ``day``; seconds pass, so that waiting still ends."""
        self.stop()
        self.day = day
        self._travel = time_machine.travel(self.now, tick=True)
        self._travel.start()

    def stop(self) -> None:
        """Give the real clock back."""
        if self._travel is not None:
            self._travel.stop()
            self._travel = None


@pytest.fixture
def clock() -> Iterator[Clock]:
    """Return a clock that is put right again afterwards."""
    made = Clock()
    yield made
    made.stop()


class Embedded:
    """Ticks as beat runs them without a broker: eager jobs in this process."""

    def run(self, now: datetime) -> None:
        """Run the three jobs, each twice."""
        for name in NAMES:
            for _ in range(2):
                getattr(jobs, f"{name}_tick").delay(now.isoformat())

    def mails(self) -> list[str]:
        """Return every mail sent, as text."""
        return [str(message.message()) for message in mail.outbox]


class TwoWorkers:
    """Ticks through a real broker: every job is sent twice, and two workers race for it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.letters = folder / "mail"
        self.letters.mkdir()
        broker = os.environ["TEST_BROKER_URL"]
        self.app = Celery("sender", broker=broker)
        self.app.conf.broker_transport_options = {"global_keyprefix": "garden:"}
        database = connection.settings_dict
        environment = {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "garden_site.settings",
            "BROKER_URL": broker,
            "DATABASE_URL": (
                f"postgres://{database['USER']}@{database['HOST']}:{database['PORT']}/"
                f"{database['NAME']}"
            ),
            "DATA_DIR": str(folder),
            "SECRET_KEY": settings.SECRET_KEY,
            "EMAIL_URL": f"filemail:///{self.letters}",
            "LOG_LEVEL": "WARNING",
        }
        self.written = [(folder / f"worker{number}.log").open("w") for number in (1, 2)]
        self.workers = [
            subprocess.Popen(
                [
                    *(sys.executable, "-m", "celery", "-A", "garden_site", "worker"),
                    *("--pool=prefork", "--concurrency=1", "--without-gossip", "--without-mingle"),
                    *("-n", f"worker{number}@test", "--loglevel=WARNING"),
                ],
                env=environment,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
            for number, log in enumerate(self.written, 1)
        ]

    def run(self, now: datetime) -> None:
        """Send each job twice and wait until the tick has been to its end."""
        for name in NAMES:
            for _ in range(2):
                self.app.send_task(f"lifecycle.jobs.{name}_tick", args=[now.isoformat()])
            self._wait_for(name, now)

    def _wait_for(self, name: str, now: datetime) -> None:
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            if Heartbeat.objects.filter(name=name, at=now).exists():
                return
            assert all(worker.poll() is None for worker in self.workers), self.logs()
            time.sleep(0.01)
        raise AssertionError(f"No {name} tick for {now}.\n{self.logs()}")

    def mails(self) -> list[str]:
        """Return every mail the workers wrote, as text."""
        text = "".join(path.read_text() for path in sorted(self.letters.iterdir()))
        return [letter for letter in text.split("-" * 79 + "\n") if letter.strip()]

    def logs(self) -> str:
        """Return what the workers said."""
        return "\n".join(path.read_text() for path in sorted(self.folder.glob("*.log")))

    def stop(self) -> None:
        """End the workers; only their main processes are told."""
        for worker in self.workers:
            worker.send_signal(signal.SIGTERM)
        for worker in self.workers:
            try:
                worker.wait(30)
            except subprocess.TimeoutExpired:
                os.killpg(worker.pid, signal.SIGKILL)
                worker.wait(10)
        for log in self.written:
            log.close()
