"""How delivery stands: what waits, what failed, what runs, and a message to try it."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import ForecastSource, Heartbeat, Message, Person
from lifecycle.records.messages.message_choices import choose
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.ticks import TICKS
from lifecycle.web.messages.system import TICK_WORDS, span
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.reminders.climates import DAY

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def client(world: World, as_person: Callable[..., Client]) -> Client:
    Heartbeat.objects.bulk_create(Heartbeat(name=name, at=NOON - MINUTE) for name in TICKS)
    return as_person(world.coordinator)


def a_message(world: World, person: Person | None = None, **more: Any) -> Message:
    columns: dict[str, Any] = {
        **{"garden": world.garden, "person": person or world.member.person, "channel": "email"},
        **{"key": f"m{Message.objects.count()}", "for_day": NOON.date(), "made_at": NOON},
        **{"not_before": NOON, "expires_at": NOON + DAY, "state": "pending", **more},
    }
    return Message.objects.create(**columns)


def failed(world: World, **more: Any) -> Message:
    given = {"state": "failed", "attempts": 6, "last_error": "550 no such user", **more}
    return a_message(world, subject="Northfield: lift by Friday", **given)


def shown(client: Client, world: World, query: str = "") -> str:
    return " ".join(client.get(f"{world.address}system{query}").content.decode().split())


def act(client: Client, world: World, **data: object) -> Any:
    return client.post(f"{world.address}system", data)


def test_a_quiet_house(client: Client, world: World) -> None:
    text = shown(client, world)
    assert "<h1>Messages go out</h1>" in text
    assert "Nothing failed." in text
    assert "No source fails." in text
    for words in TICK_WORDS.values():
        assert f"{words}: on time" in text


def test_every_tick_has_its_words() -> None:
    assert set(TICK_WORDS) == set(TICKS)


@pytest.mark.parametrize(
    ("age", "pulse"),
    [
        (timedelta(minutes=10), "on time"),
        (timedelta(minutes=10, seconds=1), "late"),
        (None, "never"),
    ],
)
def test_a_tick_that_lags_is_named(
    client: Client, world: World, age: timedelta | None, pulse: str
) -> None:
    Heartbeat.objects.filter(name="dispatch").delete()
    if age is not None:
        Heartbeat.objects.create(name="dispatch", at=NOON - age)
    text = shown(client, world)
    assert f"Send messages: {pulse}" in text
    assert ("1 of 5 things that run by themselves" in text) == (pulse != "on time")
    assert ("has never run" in text) == (age is None)


def test_what_waits_is_counted(client: Client, world: World) -> None:
    a_message(world, not_before=NOON - 5 * MINUTE)
    a_message(world, not_before=NOON - MINUTE, last_error="451 later")
    a_message(world, not_before=NOON + MINUTE)
    a_message(world, not_before=NOON - 9 * MINUTE, lease_until=NOON + MINUTE)
    text = shown(client, world)
    for name, value in (
        ("Due now", "2, the oldest for 5 minutes"),
        ("Being sent", "1"),
        ("For later", "1"),
        ("To be tried again", "1"),
        ("Failed", "0"),
    ):
        assert f"<dt>{name}</dt><dd>{value}</dd>" in text


def test_a_failed_message_is_sent_again(client: Client, world: World) -> None:
    message = failed(world, expires_at=NOON - MINUTE)
    text = shown(client, world)
    assert "<h1>1 message did not arrive</h1>" in text
    assert "Member: Northfield: lift by Friday" in text
    assert "550 no such user" in text
    answer = act(client, world, act="retry", message=message.pk)
    assert answer["Location"] == f"{world.address}system?said=retry"
    message.refresh_from_db()
    assert (message.state, message.attempts, message.not_before) == ("pending", 0, NOON)
    assert message.expires_at == NOON + DAY
    assert "It goes out again" in shown(client, world, "?said=retry")


def test_a_retry_does_not_shorten_a_message(client: Client, world: World) -> None:
    message = failed(world, expires_at=NOON + 3 * DAY)
    act(client, world, act="retry", message=message.pk)
    message.refresh_from_db()
    assert message.expires_at == NOON + 3 * DAY


@pytest.mark.parametrize("level", ["act_today", "act_now"])
def test_what_was_for_that_day_is_not_sent_later(client: Client, world: World, level: str) -> None:
    message = failed(world, level=level, expires_at=NOON)
    answer = act(client, world, act="retry", message=message.pk)
    assert answer.status_code == 422
    assert "It is too late for this message" in answer.content.decode()
    Message.objects.update(expires_at=NOON + MINUTE)
    assert act(client, world, act="retry", message=message.pk).status_code == 302


def test_a_failed_message_is_dropped(client: Client, world: World) -> None:
    message = failed(world)
    act(client, world, act="drop", message=message.pk)
    message.refresh_from_db()
    assert message.state == "cancelled"
    again = act(client, world, act="drop", message=message.pk)
    assert again.status_code == 422
    assert "no longer among the failed ones" in again.content.decode()


def test_only_failed_messages_of_this_garden_are_touched(client: Client, world: World) -> None:
    waiting = a_message(world)
    assert act(client, world, act="retry", message=waiting.pk).status_code == 422
    elsewhere = MembershipFactory()
    theirs = failed(world, garden=elsewhere.garden, key="theirs")
    assert "theirs" not in shown(client, world)
    for number in (theirs.pk, 0, "x", "9" * 30, ""):
        assert act(client, world, act="drop", message=number).status_code == 404
    theirs.refresh_from_db()
    assert theirs.state == "failed"


@pytest.mark.parametrize("role", ["member", "committee"])
def test_others_touch_nothing(world: World, as_person: Callable[..., Client], role: str) -> None:
    message = failed(world)
    answer = act(as_person(getattr(world, role)), world, act="drop", message=message.pk)
    assert answer.status_code == 403
    message.refresh_from_db()
    assert message.state == "failed"


def test_a_test_message_tells_what_came_of_it(client: Client, world: World) -> None:
    act(client, world, act="test")
    assert set(Message.objects.values_list("channel", "person")) == {
        ("inbox", world.coordinator.person_id),
        ("email", world.coordinator.person_id),
    }
    assert "E-mail: waiting" in shown(client, world, "?said=test")
    dispatch_all(now=NOON)
    assert "E-mail: sent at 12:00" in shown(client, world)


def test_who_stopped_what_is_counted_in_this_garden(client: Client, world: World) -> None:
    choose(world.member.person, "due", "email", False)
    choose(world.owner.person, "due", "email", False)
    choose(world.owner.person, "due", "push", False)
    choose(world.owner.person, "week", "email", True)
    choose(world.outsider, "due", "email", False)
    text = shown(client, world)
    assert f"<dt>{Message.Kind.DUE.label}</dt><dd>2 by e-mail</dd>" in text
    assert f"<dt>{Message.Kind.WEEK.label}</dt><dd>0 by e-mail</dd>" in text


def test_a_forecast_that_fails_is_named(client: Client, world: World) -> None:
    ForecastSource.objects.create(
        garden=world.garden,
        site=world.site,
        kind="daily",
        set_at=NOON,
        failures=3,
        last_error="The service answered 500.",
    )
    text = shown(client, world)
    assert "Canal bank: 3 failed tries in a row. The service answered 500." in text


def test_the_queries_do_not_grow(client: Client, world: World) -> None:
    def count(number: int) -> int:
        for _ in range(number):
            failed(world, person=MembershipFactory(garden=world.garden).person)
        with CaptureQueriesContext(connection) as queries:
            shown(client, world)
        return len(queries)

    assert count(2) == count(30)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 seconds"),
        (59, "59 seconds"),
        (60, "1 minute"),
        (119, "119 seconds"),
        (120, "2 minutes"),
        (3600, "1 hour"),
        (7199, "119 minutes"),
        (7200, "2 hours"),
        (86400, "1 day"),
        (-5, "0 seconds"),
    ],
)
def test_a_span_in_words(seconds: int, words: str) -> None:
    assert span(timedelta(seconds=seconds)) == words
