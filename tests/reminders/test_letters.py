"""Letters: sent once, tried again after a fault, given up in time, swept away after."""

import smtplib
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.db import OperationalError

from lifecycle.models import Letter, Message, Person
from lifecycle.records.people.letters import LINK_LASTS, ask_for_link, forget, link_path, write
from lifecycle.reminders.messages import stamping
from lifecycle.reminders.messages.claiming import BATCH, LEASE
from lifecycle.reminders.messages.composing import Composed, Line
from lifecycle.reminders.messages.settling import BACKOFF
from lifecycle.reminders.people import letters
from lifecycle.reminders.people.letter_words import WORDS
from lifecycle.reminders.people.letters import claim, message_id, send_letters, sweep
from lifecycle.reminders.ticks import dispatch_tick
from tests.factories import NOON, PersonFactory
from tests.records.threads import all_at_once

pytestmark = pytest.mark.django_db
MINUTE, SECOND = timedelta(minutes=1), timedelta(seconds=1)
DAY = timedelta(days=1)
SAID = Composed("Subject\r\nBcc: all@elsewhere.example", (Line("Words."),), "Words.")


class Server(EmailBackend):
    """A mail server that may be down, or answer one mail with a fault."""

    is_down = False
    faults: list[Exception] = []

    def open(self) -> bool:
        if Server.is_down:
            raise ConnectionRefusedError("no server")
        return True

    def send_messages(self, messages: Any) -> int:
        if Server.faults:
            raise Server.faults.pop(0)
        return int(super().send_messages(messages))


@pytest.fixture(autouse=True)
def server(settings: Any) -> None:
    settings.EMAIL_BACKEND = f"{__name__}.Server"
    Server.is_down, Server.faults = False, []


@pytest.fixture
def anna() -> Person:
    return PersonFactory(name="Anna Brook", email="anna@garden.example")


@pytest.fixture
def letter(anna: Person) -> Letter:
    return ask_for_link("Anna@Garden.example ", now=NOON)


@pytest.fixture
def lasting(anna: Person, monkeypatch: pytest.MonkeyPatch) -> Letter:
    """A letter that waits for longer than a link does."""
    monkeypatch.setitem(WORDS, "leaving", lambda letter, now: SAID)
    return write(anna.email, "leaving", now=NOON, person=anna, lasts=30 * DAY)


def fresh(letter: Letter) -> Letter:
    letter.refresh_from_db()
    return letter


def test_a_link_is_mailed_once_by_the_next_dispatch(letter: Letter) -> None:
    assert dispatch_tick(now=NOON) == 1
    assert dispatch_tick(now=NOON + MINUTE) == 0
    (sent,) = mail.outbox
    assert sent.to == ["anna@garden.example"]
    assert sent.subject == "Your link to sign in"
    assert f"http://127.0.0.1:8000{link_path(letter)}\n" in sent.body
    assert "Anna Brook, this link signs you in." in sent.body
    assert "It works once, within 30 minutes" in sent.body
    assert sent.extra_headers["Message-ID"] == message_id(letter)
    assert "List-Unsubscribe" not in sent.extra_headers
    assert (fresh(letter).state, letter.sent_at, letter.claim) == ("sent", NOON, None)
    assert not Message.objects.exists()


@pytest.mark.parametrize("state", ["unknown", "stopped", "erased"])
def test_nobody_who_may_sign_in_gets_no_mail(anna: Person, state: str) -> None:
    if state == "stopped":
        Person.objects.update(is_active=False)
    elif state == "erased":
        Person.objects.update(erased_at=NOON)
    letter = ask_for_link("other@x.example" if state == "unknown" else anna.email, now=NOON)
    assert send_letters(now=NOON) == 0
    assert fresh(letter).state == "cancelled"
    assert mail.outbox == []
    # The address of somebody unknown is not kept.
    sweep(now=letter.expires_at + timedelta(hours=1, seconds=1))
    assert not Letter.objects.exists()


def test_a_letters_head_is_one_of_its_own(lasting: Letter) -> None:
    assert send_letters(now=NOON) == 1
    (sent,) = mail.outbox
    assert sent.subject == "Subject Bcc: all@elsewhere.example"
    assert sent.recipients() == ["anna@garden.example"]
    ((html, kind),) = sent.alternatives
    assert kind == "text/html"
    assert "<p>Words.</p>" in html


def test_a_crash_before_sending_loses_nothing(letter: Letter) -> None:
    _token, taken = claim(now=NOON)
    assert [each.pk for each in taken] == [letter.pk]
    assert send_letters(now=NOON + MINUTE) == 0
    assert send_letters(now=NOON + LEASE + SECOND) == 1
    assert fresh(letter).attempts == 2
    assert len(mail.outbox) == 1


def test_a_crash_between_mail_and_stamp_repeats_it_under_its_own_name(
    letter: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dies(_: Any) -> bool:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(letters, "patiently", dies)
        with pytest.raises(KeyboardInterrupt):
            send_letters(now=NOON)
    assert fresh(letter).state == "pending"
    assert send_letters(now=NOON + LEASE + SECOND) == 1
    first, second = (each.extra_headers["Message-ID"] for each in mail.outbox)
    assert first == second


def test_a_stamp_waits_for_a_database_that_comes_back(
    letter: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    settle, failures = letters._settle, [OperationalError("gone"), OperationalError("gone")]

    def flaky(*args: Any, **columns: Any) -> bool:
        if failures:
            raise failures.pop()
        return settle(*args, **columns)

    monkeypatch.setattr(letters, "_settle", flaky)
    monkeypatch.setattr(stamping, "STAMP_WAIT", 0)
    monkeypatch.setattr(stamping.connection, "close", lambda: None)
    assert send_letters(now=NOON) == 1
    assert len(mail.outbox) == 1
    assert fresh(letter).state == "sent"


def test_a_server_that_is_down_costs_no_attempt(letter: Letter) -> None:
    ask_for_link("anna@garden.example", now=NOON)
    Server.is_down = True
    assert send_letters(now=NOON) == 0
    assert set(Letter.objects.values_list("state", "attempts", "claim")) == {("pending", 0, None)}
    assert "cannot be reached" in fresh(letter).last_error
    Server.is_down = False
    assert send_letters(now=NOON + MINUTE) == 2


def test_a_fault_is_tried_again_after_a_growing_wait(lasting: Letter) -> None:
    now = NOON
    for wait in BACKOFF:
        Server.faults = [smtplib.SMTPServerDisconnected("bye")]
        assert send_letters(now=now) == 0
        again = fresh(lasting).not_before
        assert 0.9 * wait <= again - now <= 1.1 * wait
        assert send_letters(now=again - SECOND) == 0
        now = again
    Server.faults = [smtplib.SMTPServerDisconnected("bye")]
    assert send_letters(now=now) == 0
    assert fresh(lasting).state == "failed"
    assert "did not answer" in lasting.last_error or "bye" in lasting.last_error
    assert send_letters(now=now + DAY) == 0


def test_an_address_that_is_refused_for_good_is_not_tried_again(lasting: Letter) -> None:
    Server.faults = [smtplib.SMTPRecipientsRefused({"a": (550, b"nobody here")})]
    send_letters(now=NOON)
    assert (fresh(lasting).state, lasting.attempts) == ("failed", 1)
    assert "nobody here" in lasting.last_error


def test_one_broken_letter_does_not_hold_up_the_rest(
    letter: Letter, lasting: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(*_: Any) -> Composed:
        raise RuntimeError("broken")

    monkeypatch.setitem(WORDS, "sign_in", breaks)
    assert send_letters(now=NOON) == 1
    assert fresh(letter).state == "pending"
    assert "broken" in letter.last_error
    assert fresh(lasting).state == "sent"


def test_a_link_that_came_too_late_is_not_sent(letter: Letter) -> None:
    assert send_letters(now=NOON + LINK_LASTS) == 0
    assert fresh(letter).state == "failed"
    assert mail.outbox == []


def test_one_being_sent_just_now_is_neither_given_up_nor_swept(letter: Letter) -> None:
    Letter.objects.update(claim=uuid4(), lease_until=NOON + DAY)
    sweep(now=NOON + timedelta(hours=3))
    assert fresh(letter).state == "pending"


def test_what_is_over_is_swept_away(letter: Letter, lasting: Letter) -> None:
    send_letters(now=NOON)
    sweep(now=NOON + timedelta(minutes=89))
    assert Letter.objects.count() == 2
    sweep(now=NOON + timedelta(minutes=91))
    assert list(Letter.objects.all()) == [lasting]
    sweep(now=NOON + 61 * DAY)
    assert not Letter.objects.exists()


def test_the_last_word_stays_as_proof_until_its_time_is_over(
    anna: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(WORDS, "erased", lambda letter, now: SAID)
    write("anna@garden.example", "erased", now=NOON, lasts=2 * DAY)
    assert send_letters(now=NOON) == 1
    send_letters(now=NOON + 2 * DAY)
    assert Letter.objects.filter(about="erased", state="sent").count() == 1
    send_letters(now=NOON + 2 * DAY + MINUTE)
    assert not Letter.objects.exists()


def test_an_address_is_forgotten_whole(letter: Letter, lasting: Letter) -> None:
    other = ask_for_link("other@garden.example", now=NOON)
    forget("ANNA@garden.example")
    assert list(Letter.objects.all()) == [other]


def test_more_than_one_batch_goes_in_one_run(anna: Person) -> None:
    for _ in range(BATCH + 2):
        ask_for_link(anna.email, now=NOON)
    assert send_letters(now=NOON) == BATCH + 2
    assert len({each.extra_headers["Message-ID"] for each in mail.outbox}) == BATCH + 2


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_many_senders_send_each_letter_once(anna: Person) -> None:
    for _ in range(12):
        ask_for_link(anna.email, now=NOON)
    sent = all_at_once(6, lambda _: send_letters(now=NOON))
    assert sum(number for number in sent if isinstance(number, int)) == 12, sent
    assert len(mail.outbox) == 12
