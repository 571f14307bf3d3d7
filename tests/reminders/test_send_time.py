"""What is looked at again just before a message goes out."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail

from lifecycle.models import FrostNight, Membership, Message, Person
from lifecycle.records.messages.message_choices import choose
from lifecycle.reminders.messages import (
    dispatch,
    send_time,
)
from lifecycle.reminders.messages.composing import COMPOSERS, Composed, Line
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.messages.trial import send_test
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory
from tests.reminders.climates import DAY, HOUR, at

pytestmark = pytest.mark.django_db
NIGHT = at(NOON.date(), 22)
MORNING = at(NOON.date() + DAY, 7)


@pytest.fixture(autouse=True)
def speaking(monkeypatch: pytest.MonkeyPatch) -> None:
    """A composer that always has something to say."""
    composed = Composed("Frost tonight", (Line("Cover the beds."),), "Cover the beds.")
    monkeypatch.setitem(COMPOSERS, "spoken", lambda message, now: composed)


def outgoing(world: World, **more: Any) -> list[Message]:
    """Put one message to the member into the outbox."""
    given: dict[str, Any] = {
        **{"key": "spoken:1", "kind": "frost", "level": "act_today", "about": "spoken"},
        **{"data": {}, "for_day": NOON.date(), "not_before": NOON, "now": NOON},
        "expires_at": NOON + 2 * DAY,
        **more,
    }
    return put(world.garden, world.member.person, **given)


def state(channel: str = "email") -> str:
    return Message.objects.get(channel=channel).state


@pytest.mark.parametrize("level", ["note", "due", "act_today"])
def test_a_mail_that_was_held_up_waits_for_the_morning(world: World, level: str) -> None:
    outgoing(world, level=level)
    assert dispatch_all(now=NIGHT) == 1  # what is on the page wakes nobody
    message = Message.objects.get(channel="email")
    assert (message.state, message.not_before, message.attempts) == ("pending", MORNING, 0)
    assert message.claim is None
    assert dispatch_all(now=MORNING - timedelta(seconds=1)) == 0
    assert dispatch_all(now=MORNING) == 1


def test_act_now_goes_at_any_hour(world: World) -> None:
    outgoing(world, level="act_now")
    assert dispatch_all(now=NIGHT) == 2
    assert len(mail.outbox) == 1


def test_what_would_be_stale_by_the_morning_is_given_up(world: World) -> None:
    outgoing(world, expires_at=MORNING)
    dispatch_all(now=NIGHT)
    assert state() == "expired"
    assert mail.outbox == []


def test_what_grew_stale_in_a_long_run_is_given_up(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    outgoing(world, expires_at=NOON + HOUR)
    with monkeypatch.context() as patch:
        # The mails before it took so long.
        patch.setattr(dispatch._Run, "_elapsed", lambda run: HOUR.total_seconds())
        patch.setattr(dispatch, "RUN_SECONDS", 2 * HOUR.total_seconds())
        assert dispatch_all(now=NOON) == 0
    assert state() == "expired"


@pytest.mark.parametrize("named", ["site", "night", "neither"])
def test_the_night_is_that_of_the_site(world: World, named: str) -> None:
    # At 22:00 UTC it is 09:00 in Sydney, and at noon UTC it is 23:00 there.
    far = SiteFactory(garden=world.garden, time_zone="Australia/Sydney")
    night = FrostNight.objects.create(
        **{"garden": world.garden, "site": far, "night": NOON.date(), "judged_at": NOON},
        **{"expected_c": -1, "sd_c": 1, "kill_chance": 0, "harm_chance": 0},
        **{"kill_ratio": 0, "harm_ratio": 0},
    )
    outgoing(world, data={"site": {"site": far.pk}, "night": {"night": night.pk}}.get(named, {}))
    dispatch_all(now=NIGHT)
    assert state() == ("pending" if named == "neither" else "sent")


def test_a_garden_without_ground_keeps_to_utc(world: World) -> None:
    elsewhere = MembershipFactory()
    given = {"kind": "due", "level": "due", "about": "spoken", "data": {}, "now": NOON}
    put(
        elsewhere.garden,
        elsewhere.person,
        **{"key": "k", "for_day": NOON.date(), "not_before": NOON, "expires_at": NOON + DAY},
        **given,
    )
    dispatch_all(now=NIGHT)
    assert state() == "pending"


def test_a_test_is_sent_to_whoever_asked_for_it_at_any_hour(world: World) -> None:
    choose(world.coordinator.person, "lead", "email", False)
    send_test(world.coordinator, today=NOON.date(), now=NIGHT)
    assert send_test(world.coordinator, today=NOON.date(), now=NIGHT) == []
    assert dispatch_all(now=NIGHT) == 2
    [sent] = mail.outbox
    assert sent.subject == "Northfield: a test message"
    assert "List-Unsubscribe" not in sent.extra_headers


@pytest.mark.parametrize(
    "change",
    [
        lambda world: choose(world.member.person, "frost", "email", False),
        lambda world: Person.objects.filter(pk=world.member.person_id).update(is_active=False),
        lambda world: Membership.objects.filter(pk=world.member.pk).update(left_on=NOON.date()),
    ],
    ids=["chose otherwise", "inactive", "left"],
)
def test_a_slow_run_looks_again_before_each_mail(
    world: World, monkeypatch: pytest.MonkeyPatch, change: Callable[[World], object]
) -> None:
    """The first mail takes its time; meanwhile the reader of the second one goes."""
    other = MembershipFactory(garden=world.garden)
    outgoing(world, not_before=NOON + HOUR, channels=["email"])
    given = {"kind": "frost", "level": "due", "about": "first", "data": {}, "now": NOON}
    put(
        world.garden,
        other.person,
        **{"key": "f", "for_day": NOON.date(), "not_before": NOON, "expires_at": NOON + 2 * DAY},
        **given,
        channels=["email"],
    )

    def slow(message: Message, now: datetime) -> Composed:
        change(world)
        monkeypatch.setattr(send_time, "FRESH_SECONDS", -1.0)
        return Composed("First", (), "")

    monkeypatch.setitem(COMPOSERS, "first", slow)
    assert dispatch_all(now=NOON + HOUR) == 1
    assert Message.objects.get(about="spoken").state == "cancelled"


def test_what_was_read_a_moment_ago_is_not_read_again(
    world: World, django_assert_num_queries: Any
) -> None:
    for number in range(3):
        outgoing(world, key=f"spoken:{number}", channels=["inbox"])
    token = uuid4()
    Message.objects.update(claim=token)
    messages = list(Message.objects.order_by("pk"))
    standings = send_time.Standings(token)
    with django_assert_num_queries(4):
        found = [standings.of(message.pk) for message in messages]
    assert found == messages
    assert standings.of(10**6) is None
