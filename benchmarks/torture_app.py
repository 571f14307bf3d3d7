"""What the torture changes in the site's processes, and nothing else.

The clock is the machine's plus an offset read from a file. Between a mail's acknowledgement and
its stamp lies a random pause, so that kills fall into it. Each mail names the attempt that sent
it, and each stamp is noted, so that both can be joined afterwards. Leases and runs are shorter
by the same factor, so that a killed sender's messages come up again within the torture.
"""

import json
import os
import random
import time
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

from django.apps import AppConfig
from django.conf import settings
from django.utils import timezone

ABOUT = "torture"
RUNS_IN_A_LEASE = 3
"""As on a real site: 200 seconds in ten minutes."""
WINDOW_SECONDS = 0.3
_machine_now = timezone.now


class TortureConfig(AppConfig):
    """Changes the running site when it has started."""

    name = "benchmarks"
    label = "torture"
    path = str(Path(__file__).parent)

    def ready(self) -> None:
        """Put the changes into place."""
        timezone.now = shifted_now
        from lifecycle.reminders.messages import (
            carrier,
            claiming,
            dispatch,
        )

        register_composer()
        claiming.LEASE = timedelta(seconds=settings.TORTURE_LEASE)
        dispatch.RUN_SECONDS = settings.TORTURE_LEASE / RUNS_IN_A_LEASE
        carrier.head = with_attempt(carrier.head)
        carrier.Carrier.deliver = slowly(carrier.Carrier.deliver)
        dispatch.stamp = noted(dispatch.stamp)


def folder() -> Path:
    """Return the folder of the run."""
    return Path(settings.TORTURE_DIR)


def shifted_now():
    """Return the machine's time plus the offset in force."""
    try:
        seconds = float((folder() / "offset").read_text())
    except (FileNotFoundError, ValueError):
        seconds = 0.0
    return _machine_now() + timedelta(seconds=seconds)


def note(**what: object) -> None:
    """Append one line to the notes; short enough to be written whole by one call."""
    line = json.dumps({"when": time.time(), "pid": os.getpid(), **what}) + "\n"
    handle = os.open(folder() / "notes", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    try:
        os.write(handle, line.encode())
    finally:
        os.close(handle)


def register_composer() -> None:
    """Let a torture message say its number."""
    from lifecycle.reminders.messages.composing import Composed, Line, register

    @register(ABOUT)
    def compose(message, now):
        text = f"Reminder {message.data['number']} for {message.person.name}"
        return Composed(subject=text, lines=(Line(text),), short=text)


def with_attempt(head):
    """Return ``head`` with the attempt, the key and the shifted time in every mail."""

    def changed(message):
        return {
            **head(message),
            "X-Torture-Attempt": message.attempt,
            "X-Torture-Key": message.key,
            "X-Torture-Now": timezone.now().isoformat(),
        }

    return changed


def slowly(deliver):
    """Return ``deliver`` with a pause after it, in which a kill makes a duplicate."""

    def changed(self, message, composed):
        if message.channel != message.Channel.EMAIL:
            return deliver(self, message, composed)
        message.attempt = f"{os.getpid()}-{uuid4().hex[:12]}"
        deliver(self, message, composed)
        time.sleep(random.uniform(0, WINDOW_SECONDS))

    return changed


def noted(stamp):
    """Return ``stamp`` that notes what it stamped, once it is in the database."""

    def changed(message, token, now):
        done = stamp(message, token, now)
        if done and message.channel == message.Channel.EMAIL:
            note(stamped=message.attempt, key=message.key)
        return done

    return changed
