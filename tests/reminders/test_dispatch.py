"""Delivery: nothing lost, nothing twice, one broken message does not hold up the rest."""

import smtplib
from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest
from django.core import mail
from django.core.mail import EmailMessage

from lifecycle.models import Garden, Heartbeat, Membership, Message, Person, Task
from lifecycle.records.messages.message_choices import choose
from lifecycle.reminders.messages import dispatch
from lifecycle.reminders.messages.carrier import Carrier
from lifecycle.reminders.messages.claiming import BATCH, LEASE, claim, due, held
from lifecycle.reminders.messages.composing import COMPOSERS
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.messages.mail_head import message_id
from lifecycle.reminders.messages.settling import BACKOFF, wait_after
from lifecycle.reminders.ticks import TICKS, dispatch_tick
from lifecycle.reminders.work.announce import announce_all
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.threads import all_at_once
from tests.reminders.climates import DAY, HOUR

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


@pytest.fixture
def waiting(world: World) -> Message:
    """A mail to the member about one task; what is on the page went out already."""
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    Message.objects.filter(channel="inbox").update(state="sent", sent_at=NOON)
    return Message.objects.get(channel="email")


@pytest.fixture
def smtp(monkeypatch: pytest.MonkeyPatch):
    """A mail server that answers as told: an exception to raise, or None."""
    answers: list[Exception | None] = []
    sent: list[EmailMessage] = []

    def send(self: EmailMessage, fail_silently: bool = False) -> int:
        answer = answers.pop(0) if answers else None
        if answer is not None:
            raise answer
        sent.append(self)
        return 1

    monkeypatch.setattr(EmailMessage, "send", send)
    return answers, sent


def fresh(message: Message) -> Message:
    message.refresh_from_db()
    return message


def test_a_message_is_sent_once_and_stamped(waiting: Message) -> None:
    assert dispatch_all(now=NOON) == 1
    assert (fresh(waiting).state, waiting.sent_at, waiting.claim) == ("sent", NOON, None)
    assert dispatch_all(now=NOON + DAY) == 0
    assert len(mail.outbox) == 1
    assert mail.outbox[0].to == ["member@garden.example"]
    # What was sent is kept as it was sent.
    assert (waiting.subject, waiting.body) == (mail.outbox[0].subject, mail.outbox[0].body)


def test_not_before_its_hour(waiting: Message) -> None:
    assert dispatch_all(now=NOON - SECOND) == 0
    assert dispatch_all(now=NOON) == 1


def test_on_the_page_it_appears_without_mail(world: World) -> None:
    choose(world.member.person, "due", "email", False)
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    assert dispatch_all(now=NOON) == 1
    assert Message.objects.get().body
    assert mail.outbox == []


def test_the_message_id_is_the_same_for_the_same_message(waiting: Message, settings) -> None:
    settings.SITE_URL = "https://beds.example:8443"
    first = message_id(waiting)
    assert first == message_id(Message.objects.get(pk=waiting.pk))
    assert first.endswith("@beds.example>")
    dispatch_all(now=NOON)
    assert mail.outbox[0].extra_headers["Message-ID"] == first
    assert mail.outbox[0].extra_headers["Auto-Submitted"] == "auto-generated"
    assert message_id(Message(key="another")) != first


@pytest.mark.parametrize(("temperature", "words"), [("C", "below 10 °C"), ("F", "below 50 °F")])
def test_the_body_is_complete_in_the_readers_units(
    world: World, waiting: Message, settings, temperature: str, words: str
) -> None:
    settings.SITE_URL = "https://beds.example"
    Person.objects.update(temperature=temperature)
    dispatch_all(now=NOON)
    body, task = fresh(waiting).body, Task.objects.get()
    assert waiting.subject == "Northfield: lift: Cayenne by the gate by 20 October"
    assert body.startswith("Northfield, Wednesday 14 October 2026")
    for part in (
        "Lift: Cayenne by the gate, Bed 3",
        "Between 1 October and 20 October, before the first night of",
        f"Nights fall {words} about 20 October.",
        f"https://beds.example/g/northfield/tasks/{task.pk}",
        "https://beds.example/settings",
    ):
        assert part in body
    assert "invented" not in body
    assert "{" not in body


def test_tasks_of_one_kind_in_one_bed_are_one_paragraph(world: World) -> None:
    for name in ("Anna", "Berta"):
        a_task(a_plant(world.member, world.bed, name=name), "lift")
    a_task(world.plant, "cut_back", latest=date(2026, 11, 1))
    Garden.objects.update(invented=True)
    announce_all(now=NOON)
    dispatch_all(now=NOON)
    message = Message.objects.get(channel="email")
    assert message.subject == "Northfield: lift: 2 plants by 20 October and 1 more"
    assert "Lift: 2 plants, Bed 3 (Anna, Berta)" in message.body
    assert "invented demonstration garden" in message.body


@pytest.mark.parametrize(
    "change",
    [
        lambda world: choose(world.member.person, "due", "email", False),
        lambda world: Person.objects.filter(pk=world.member.person_id).update(is_active=False),
        lambda world: Membership.objects.filter(pk=world.member.pk).update(left_on=NOON.date()),
        lambda world: Task.objects.update(state="done"),
        lambda world: Task.objects.update(state="withdrawn"),
    ],
    ids=["opted out", "inactive", "left", "done", "withdrawn"],
)
def test_what_is_no_longer_wanted_is_cancelled(world: World, waiting: Message, change) -> None:
    change(world)
    assert dispatch_all(now=NOON) == 0
    assert (fresh(waiting).state, waiting.claim) == ("cancelled", None)
    assert mail.outbox == []


def test_only_what_is_still_open_is_told(world: World) -> None:
    a_task(world.plant, "lift")
    done = a_task(world.plant, "cut_back")
    announce_all(now=NOON)
    Task.objects.filter(pk=done.pk).update(state="done")
    dispatch_all(now=NOON)
    assert "Cut back" not in Message.objects.get(channel="email").body


def test_a_claim_belongs_to_one(waiting: Message) -> None:
    token, ids = claim(now=NOON)
    other, none = claim(now=NOON)
    assert (ids, none) == ([waiting.pk], [])
    assert (held(token).get(), held(other).first()) == (waiting, None)
    assert token != other
    assert (fresh(waiting).claim, waiting.attempts) == (token, 1)
    assert waiting.lease_until == NOON + LEASE
    # It is free again when the lease has run out.
    assert not due(NOON + LEASE).exists()
    assert due(NOON + LEASE + SECOND).get() == waiting


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_senders_send_each_message_once(transactional_db: None, world: World) -> None:
    for _ in range(2 * BATCH + 7):
        member = MembershipFactory(garden=world.garden)
        a_task(a_plant(world.member, world.bed, holder=member.person), "lift")
    announce_all(now=NOON)
    number = Message.objects.filter(channel="email").count()
    assert number == 2 * BATCH + 7
    done = all_at_once(8, lambda _: dispatch_all(now=NOON))
    assert all(isinstance(each, int) for each in done), done
    assert sum(done) == 2 * number
    assert len(mail.outbox) == len({tuple(each.to) for each in mail.outbox}) == number
    assert set(Message.objects.values_list("state", flat=True)) == {"sent"}


class Killed(BaseException):
    """The process is gone: nothing after this line runs."""


def test_killed_before_sending_it_goes_out_after_the_lease(
    waiting: Message, monkeypatch: pytest.MonkeyPatch
) -> None:
    def die(*_: object) -> None:
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(Carrier, "deliver", die)
        with pytest.raises(Killed):
            dispatch_all(now=NOON)
    assert fresh(waiting).state == "pending"
    assert dispatch_all(now=NOON + LEASE) == 0
    assert dispatch_all(now=NOON + LEASE + SECOND) == 1
    assert len(mail.outbox) == 1


def test_killed_after_sending_it_is_repeated_under_the_same_id(
    waiting: Message, monkeypatch: pytest.MonkeyPatch
) -> None:
    send = Carrier.deliver

    def send_and_die(*given: object) -> None:
        send(*given)
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(Carrier, "deliver", send_and_die)
        with pytest.raises(Killed):
            dispatch_all(now=NOON)
    assert dispatch_all(now=NOON + LEASE + SECOND) == 1
    ids = [each.extra_headers["Message-ID"] for each in mail.outbox]
    assert len(ids) == 2
    assert len(set(ids)) == 1


def test_who_lost_the_lease_does_not_send(
    waiting: Message, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = COMPOSERS["due"]

    def taken(message: Message, now: datetime) -> object:
        Message.objects.filter(pk=message.pk).update(claim=uuid4())
        return write(message, now)

    monkeypatch.setitem(COMPOSERS, "due", taken)
    assert dispatch_all(now=NOON) == 0
    assert mail.outbox == []
    assert fresh(waiting).state == "pending"


@pytest.mark.parametrize(
    "problem",
    [
        OSError("no route"),
        TimeoutError("slow"),
        ConnectionRefusedError(),
        smtplib.SMTPServerDisconnected("gone"),
        smtplib.SMTPResponseException(451, b"later"),
        smtplib.SMTPConnectError(421, b"busy"),
        smtplib.SMTPAuthenticationError(535, b"wrong password"),
    ],
)
def test_a_passing_fault_is_tried_again_later(waiting: Message, smtp, problem: Exception) -> None:
    answers, sent = smtp
    answers.append(problem)
    assert dispatch_all(now=NOON) == 0
    assert (fresh(waiting).state, waiting.claim, waiting.not_before) == (
        "pending",
        None,
        NOON + wait_after(waiting.key, 1),
    )
    assert waiting.last_error.startswith("The mail server")
    assert dispatch_all(now=waiting.not_before) == 1
    assert len(sent) == 1
    assert fresh(waiting).last_error == ""


def test_the_waits_grow_and_then_it_fails(waiting: Message, smtp) -> None:
    answers, sent = smtp
    # The waits add up to nearly nine hours: quiet hours must not add to them.
    Message.objects.filter(pk=waiting.pk).update(level=Message.Level.ACT_NOW)
    now: datetime = NOON
    for wait in BACKOFF:
        answers.append(OSError("no route"))
        dispatch_all(now=now)
        waited = fresh(waiting).not_before - now
        assert 0.9 * wait <= waited <= 1.1 * wait
        now = waiting.not_before
    answers.append(OSError("no route"))
    dispatch_all(now=now)
    assert (fresh(waiting).state, waiting.attempts) == ("failed", len(BACKOFF) + 1)
    answers.clear()
    dispatch_all(now=now + DAY)
    assert fresh(waiting).state == "failed"
    assert not [each for each in sent if each.to == [waiting.person.email]]


@pytest.mark.parametrize(
    "problem",
    [
        smtplib.SMTPRecipientsRefused({"member@garden.example": (550, b"unknown")}),
        smtplib.SMTPSenderRefused(553, b"no", "garden@garden.example"),
        smtplib.SMTPResponseException(554, b"no"),
    ],
)
def test_a_lasting_fault_fails_at_once(waiting: Message, smtp, problem: Exception) -> None:
    smtp[0].append(problem)
    dispatch_all(now=NOON)
    assert (fresh(waiting).state, waiting.attempts, waiting.claim) == ("failed", 1, None)


def test_greylisting_is_a_passing_fault(waiting: Message, smtp) -> None:
    # Servers that have not seen the sender yet answer 4xx to the recipient at first.
    smtp[0].append(smtplib.SMTPRecipientsRefused({"member@garden.example": (450, b"later")}))
    dispatch_all(now=NOON)
    assert fresh(waiting).state == "pending"


def test_one_broken_message_does_not_hold_up_the_rest(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    other = MembershipFactory(garden=world.garden)
    a_task(world.plant, "lift")
    a_task(a_plant(world.member, world.bed, holder=other.person), "lift")
    announce_all(now=NOON)
    write = COMPOSERS["due"]

    def broken(message: Message, now: datetime) -> object:
        if message.person_id == world.member.person_id:
            raise KeyError("no such kind")
        return write(message, now)

    monkeypatch.setitem(COMPOSERS, "due", broken)
    assert dispatch_all(now=NOON) == 2
    kept = Message.objects.filter(person=world.member.person)
    assert {message.state for message in kept} == {"pending"}
    assert "could not be made" in caplog.text
    assert kept[0].key in caplog.text


def test_every_tick_leaves_a_heartbeat(world: World) -> None:
    for index, tick in enumerate(TICKS.values()):
        tick(now=NOON + index * HOUR)
    beats = dict(Heartbeat.objects.filter(name__in=TICKS).values_list("name", "at"))
    assert beats == {name: NOON + index * HOUR for index, name in enumerate(TICKS)}


def test_a_tick_that_breaks_leaves_none(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dispatch, "expire", lambda now: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        dispatch_tick(now=NOON)
    assert not Heartbeat.objects.exists()
