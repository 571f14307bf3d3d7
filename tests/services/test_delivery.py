"""Delivery by real servers: a mail server that keeps what comes, and everything that can die."""

import email
import json
import subprocess
import sys
from collections.abc import Iterator
from email.message import Message as Mime
from email.policy import default
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from django.test import Client

from lifecycle.models import Garden, Message, Person
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.messages.mail_head import message_id
from lifecycle.reminders.work.announce import announce_all
from tests.conftest import World
from tests.factories import NOON, a_task
from tests.services.test_serve import free_port

pytestmark = pytest.mark.services
ROOT = Path(__file__).resolve().parents[2]


class Keeper:
    """Keeps every mail as it came over the wire; refuses one address."""

    def __init__(self) -> None:
        self.mails: list[bytes] = []
        self.to: list[list[str]] = []

    async def handle_RCPT(
        self, server: Any, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        if address.startswith("nobody"):
            return "550 no such person"
        envelope.rcpt_tos.append(address)
        return "250 ok"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        self.mails.append(envelope.content)
        self.to.append(list(envelope.rcpt_tos))
        return "250 taken"


@pytest.fixture
def server(settings: Any) -> Iterator[Keeper]:
    """A mail server that the site sends to."""
    keeper = Keeper()
    controller = Controller(keeper, hostname="127.0.0.1", port=free_port())
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", controller.port
    settings.SITE_URL, settings.HTTPS = "https://beds.example", True
    controller.start()
    try:
        yield keeper
    finally:
        controller.stop()


def parts_of(mime: Mime) -> dict[str, str]:
    return {
        part.get_content_type(): part.get_content()  # type: ignore[attr-defined]
        for part in mime.walk()
        if not part.is_multipart()
    }


@pytest.mark.django_db
def test_a_mail_as_it_comes_over_the_wire(world: World, server: Keeper) -> None:
    Garden.objects.update(name="Jardín\r\nBcc: all@elsewhere.example")
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    assert dispatch_all(now=NOON) == 2
    [raw], [to] = server.mails, server.to
    message = Message.objects.get(channel="email")
    mime = email.message_from_bytes(raw, policy=default)
    assert to == [message.person.email]
    assert mime["Subject"].strip().startswith("Jardín Bcc: all@elsewhere.example: lift: Cay")
    assert mime["To"] == message.person.email
    assert mime["Bcc"] is None
    assert mime["Message-ID"] == message_id(message)
    assert mime["Auto-Submitted"] == "auto-generated"
    assert mime["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert mime["Date"].datetime == NOON.replace(tzinfo=None)
    assert mime.get_content_type() == "multipart/alternative"
    parts = parts_of(mime)
    assert [*parts] == ["text/plain", "text/html"]
    assert parts["text/plain"].split() == message.body.split()
    assert parts["text/html"].split() == message.html.split()
    assert all(len(line) <= 998 for line in raw.splitlines())
    stop = mime["List-Unsubscribe"].strip("<>").removeprefix("https://beds.example")
    assert Client().post(stop, {"List-Unsubscribe": "One-Click"}).status_code == 200


@pytest.mark.django_db
def test_one_refused_address_holds_up_nobody(world: World, server: Keeper) -> None:
    Person.objects.filter(pk=world.member.person_id).update(email="nobody@garden.example")
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    assert dispatch_all(now=NOON) == 1
    message = Message.objects.get(channel="email", about="due")
    assert message.state == "failed"
    assert "550" in message.last_error
    # The leads hear of it by the same server.
    dispatch_all(now=NOON)
    assert sorted(server.to) == [["coordinator@garden.example"], ["owner@garden.example"]]


@pytest.mark.parametrize("more", [[], ["--embedded"]], ids=["services", "embedded"])
def test_nothing_is_lost_or_doubled_whatever_dies(more: list[str]) -> None:
    """A short torture; the long one is run by hand."""
    command = [sys.executable, "benchmarks/torture.py", "--minutes", "0.35"]
    done = subprocess.run(
        [*command, "--changes", "1", "--lease", "15", *more],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    report = json.loads(done.stdout)
    assert report["put"] > 20
    # A reminder may be committed and its feeder not hear of it, when the database stops just then.
    assert report["delivered"] >= report["put"]
    assert [name for name in report["done"] if name.startswith("killed")]
