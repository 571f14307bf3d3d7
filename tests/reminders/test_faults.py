"""Faults on the way: a server that is gone, a database that goes away, a row that is broken."""

import smtplib
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.db import OperationalError, connection

from lifecycle.models import Message
from lifecycle.records.messages.message_choices import choose
from lifecycle.reminders.messages import (
    carrier,
    dispatch,
    settling,
    stamping,
)
from lifecycle.reminders.messages.carrier import RENEW_AFTER, Carrier
from lifecycle.reminders.messages.claiming import LEASE, claim, held
from lifecycle.reminders.messages.composing import COMPOSERS, Composed, Line
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.messages.settling import BACKOFF, wait_after
from lifecycle.reminders.messages.transports import TransportError, of_mail
from tests.conftest import World
from tests.factories import NOON
from tests.reminders.climates import DAY

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)
COMPOSED = Composed("Subject", (Line("Words."),), "Words.", "https://beds.example/")


class Server(EmailBackend):
    """A mail server whose connections are counted, and which may be down or drop one."""

    opened = 0
    closed = 0
    is_down = False
    faults: list[Exception] = []

    def open(self) -> bool:
        if Server.is_down:
            raise ConnectionRefusedError("no server")
        Server.opened += 1
        return True

    def close(self) -> None:
        Server.closed += 1

    def send_messages(self, messages: Any) -> int:
        if Server.faults:
            raise Server.faults.pop()
        return int(super().send_messages(messages))


@pytest.fixture(autouse=True)
def server(settings: Any, monkeypatch: pytest.MonkeyPatch) -> type[Server]:
    settings.EMAIL_BACKEND = f"{__name__}.Server"
    monkeypatch.setitem(COMPOSERS, "spoken", lambda message, now: COMPOSED)
    Server.opened = Server.closed = 0
    Server.is_down, Server.faults = False, []
    # The backend is found by its name, which the test runner gives to another copy.
    monkeypatch.setattr("lifecycle.reminders.messages.carrier.get_connection", Server)
    return Server


def fill(world: World, number: int, channel: str = "email") -> list[Message]:
    made = []
    for each in range(number):
        made += put(
            world.garden,
            world.member.person,
            **{"key": f"k{each}", "kind": "due", "level": "note", "about": "spoken", "data": {}},
            **{"for_day": NOON.date(), "not_before": NOON, "expires_at": NOON + 3 * DAY},
            now=NOON,
            channels=[channel],
        )
    return made


def test_one_connection_serves_many_and_is_renewed(world: World, server: type[Server]) -> None:
    fill(world, RENEW_AFTER + 1)
    assert dispatch_all(now=NOON) == RENEW_AFTER + 1
    assert (server.opened, server.closed) == (2, 2)


def test_a_connection_is_opened_anew_after_a_fault(world: World, server: type[Server]) -> None:
    fill(world, 3)
    server.faults = [smtplib.SMTPServerDisconnected("gone")]
    assert dispatch_all(now=NOON) == 2
    assert (server.opened, server.closed) == (2, 2)


def test_without_mail_no_server_is_asked(world: World, server: type[Server]) -> None:
    fill(world, 3, channel="inbox")
    assert dispatch_all(now=NOON) == 3
    assert server.opened == 0


def test_a_push_message_is_the_short_form_with_its_address(
    world: World, server: type[Server], monkeypatch: pytest.MonkeyPatch
) -> None:
    went: list[tuple[Message, str, str]] = []
    monkeypatch.setattr(carrier.push, "send", lambda *given: went.append(given))
    [message] = fill(world, 1, channel="push")
    choose(world.member.person, "due", "push", True)
    assert dispatch_all(now=NOON) == 1
    assert went == [(message, "Words.", "https://beds.example/")]
    assert server.opened == 0
    assert Message.objects.get().body == "Words."


def test_a_browser_that_is_gone_fails_at_once(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(*_: object) -> None:
        raise TransportError("No device takes push messages any more.", permanent=True)

    monkeypatch.setattr(carrier.push, "send", gone)
    fill(world, 1, channel="push")
    choose(world.member.person, "due", "push", True)
    assert dispatch_all(now=NOON) == 0
    assert Message.objects.get(channel="push").state == "failed"


def test_a_server_that_is_gone_costs_no_message_a_try(world: World, server: type[Server]) -> None:
    messages = fill(world, 3)
    fill(world, 2, channel="inbox")
    server.is_down = True
    assert dispatch_all(now=NOON) == 2  # the page does not wait for the mail
    rows = Message.objects.filter(channel="email").order_by("pk")
    assert {(row.state, row.attempts, row.claim) for row in rows} == {("pending", 0, None)}
    assert [row.not_before for row in rows] == [NOON] * 3
    assert "cannot be reached" in rows[0].last_error
    server.is_down = False
    assert dispatch_all(now=NOON + SECOND) == len(messages)


def test_nothing_fails_however_long_the_server_is_gone(world: World, server: type[Server]) -> None:
    fill(world, 1)
    server.is_down = True
    for minutes in range(0, 60 * 24, 30):
        dispatch_all(now=NOON + timedelta(minutes=minutes))
    server.is_down = False
    assert dispatch_all(now=NOON + 2 * DAY) == 1


def test_a_run_ends_before_the_job_is_ended(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(world, 3)
    with monkeypatch.context() as patch:
        patch.setattr(dispatch, "RUN_SECONDS", 0.05)
        deliver = Carrier.deliver

        def slow(self: Carrier, message: Message, composed: Composed) -> None:
            deliver(self, message, composed)
            dispatch.time.sleep(0.1)

        patch.setattr(Carrier, "deliver", slow)
        assert dispatch_all(now=NOON) == 1
    left = Message.objects.filter(state="pending")
    assert {(row.claim, row.attempts) for row in left} == {(None, 0)}
    assert dispatch_all(now=NOON) == 2


def test_the_database_goes_away_before_a_mail(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    [message] = fill(world, 1)

    def gone(message: Message, now: Any) -> Composed:
        raise OperationalError("the connection is closed")

    with monkeypatch.context() as patch:
        patch.setitem(COMPOSERS, "spoken", gone)
        with pytest.raises(OperationalError):
            dispatch_all(now=NOON)
    message.refresh_from_db()
    assert (message.state, message.last_error) == ("pending", "")
    assert dispatch_all(now=NOON + LEASE + SECOND) == 1


def test_a_stamp_waits_for_the_database(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """The mail is out: the stamp is tried again and again, so that it is not sent twice."""
    fill(world, 1)
    waits: list[float] = []
    once = stamping._stamp_once
    answers = [OperationalError("starting up"), OperationalError("starting up")]

    def stumbling(*given: Any) -> bool:
        if answers:
            raise answers.pop()
        return once(*given)

    monkeypatch.setattr(stamping, "_stamp_once", stumbling)
    monkeypatch.setattr(stamping.time, "sleep", waits.append)
    # Inside the test's own transaction the connection must stay.
    monkeypatch.setattr(connection, "close", lambda: None)
    assert dispatch_all(now=NOON) == 1
    assert waits == [stamping.STAMP_WAIT] * 2
    assert Message.objects.get().state == "sent"


def test_a_stamp_gives_up_in_the_end(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    [message] = fill(world, 1)
    tries: list[int] = []

    def gone(*given: Any) -> bool:
        tries.append(1)
        raise OperationalError("gone for good")

    monkeypatch.setattr(stamping, "_stamp_once", gone)
    monkeypatch.setattr(stamping.time, "sleep", lambda _: None)
    monkeypatch.setattr(connection, "close", lambda: None)
    with pytest.raises(OperationalError):
        stamping.stamp(message, uuid4(), NOON)
    assert len(tries) == stamping.STAMP_TRIES + 1
    assert LEASE.total_seconds() / 10 > stamping.STAMP_TRIES * stamping.STAMP_WAIT


def test_only_the_holder_stamps(world: World, caplog: pytest.LogCaptureFixture) -> None:
    [message] = fill(world, 1)
    token, _ = claim(now=NOON)
    assert stamping.is_held(message, token)
    assert not stamping.is_held(message, uuid4())
    assert not stamping.stamp(message, uuid4(), NOON)
    assert "after its lease had run out" in caplog.text
    assert held(token).get() == message
    message.subject, message.body, message.html = "S", "B", "<p>"
    assert stamping.stamp(message, token, NOON)
    assert not stamping.is_held(message, token)
    row = Message.objects.get()
    assert (row.state, row.sent_at, row.claim, row.lease_until) == ("sent", NOON, None, None)
    assert (row.subject, row.body, row.html) == ("S", "B", "<p>")


@pytest.mark.parametrize("email", ["a\nBcc: b@c.example", "a@b\r\nBcc: c@d.example"])
def test_an_address_that_cannot_be_mailed_fails_at_once(world: World, email: str) -> None:
    message = Message(person=world.member.person, garden=world.garden, key="k", channel="email")
    message.subject, message.body, message.html, message.kind = "S", "B", "<p>", "due"
    message.person.email = email
    with Carrier() as way, pytest.raises(TransportError) as problem:
        way.deliver(message, COMPOSED)
    assert problem.value.permanent
    assert mail.outbox == []


@pytest.mark.parametrize(
    ("problem", "words", "lasting"),
    [
        (
            smtplib.SMTPRecipientsRefused({"a@b.example": (550, b"5.1.1 no\r\nsuch user")}),
            "The mail server refused the address: 550 5.1.1 no such user",
            True,
        ),
        (
            smtplib.SMTPRecipientsRefused({"a@b.example": (499, b"later")}),
            "The mail server refused the address: 499 later",
            False,
        ),
        (smtplib.SMTPDataError(500, b"no"), "The mail server said: 500 no", True),
        (smtplib.SMTPDataError(499, "\xe9"), "The mail server said: 499 \xe9", False),
        (TimeoutError("timed out"), "The mail server did not answer: timed out", False),
        (ValueError("newline"), "This cannot be mailed: newline", True),
    ],
)
def test_a_fault_is_said_in_a_sentence(problem: Exception, words: str, lasting: bool) -> None:
    found = of_mail(problem)
    assert (str(found), found.permanent) == (words, lasting)


def test_waits_differ_by_message_and_never_by_chance() -> None:
    keys = [f"key {number}" for number in range(200)]
    for tried, wait in enumerate(BACKOFF, start=1):
        waits = [wait_after(key, tried) for key in keys]
        assert waits == [wait_after(key, tried) for key in keys]
        assert 0.9 * wait <= min(waits) < 0.92 * wait
        assert 1.08 * wait < max(waits) <= 1.1 * wait
    assert wait_after("key 1", 1) / BACKOFF[0] != wait_after("key 1", 2) / BACKOFF[1]


def test_a_broken_row_fails_alone_in_the_end(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    [message] = fill(world, 1)
    Message.objects.update(about="nobody writes this")
    now = NOON
    for _ in range(len(BACKOFF) + 1):
        dispatch_all(now=now)
        message.refresh_from_db()
        now = max(message.not_before, now + SECOND)
    assert (message.state, message.attempts) == ("failed", len(BACKOFF) + 1)
    assert message.key in caplog.text
    assert "KeyError" in message.last_error


def test_an_error_is_kept_no_longer_than_its_column(world: World) -> None:
    [message] = fill(world, 1)
    token, _ = claim(now=NOON)
    settling.put_off(message, token, "x" * 1000, NOON, lasting=True)
    message.refresh_from_db()
    assert len(message.last_error) == settling.ERROR_LENGTH
    assert UUID(str(token)) == token
