"""One interrupting message a day and two wakings a month, over all gardens."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from lifecycle.models import Garden, Message, Person
from lifecycle.reminders.nights.alert_budget import may_interrupt, spent
from tests.conftest import World
from tests.factories import NOON, GardenFactory, PersonFactory

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def a_message(garden: Garden, person: Person, **more: Any) -> Message:
    given = {
        "key": f"test:{Message.objects.count()}:email",
        "channel": "email",
        "level": "act_today",
        "not_before": NOON,
        "expires_at": NOON + DAY,
        "made_at": NOON,
        "for_day": NOON.date(),
        **more,
    }
    return Message.objects.create(garden=garden, person=person, **given)


def may(person: Person, level: str = "act_today", now: datetime = NOON, zone: str = "UTC") -> bool:
    return may_interrupt(person, level, now, zone)


def test_one_a_day_over_all_gardens(world: World) -> None:
    person = world.member.person
    assert may(person)
    a_message(GardenFactory(), person)
    assert not may(person)
    assert not may(person, "act_now")
    assert may(world.owner.person)


@pytest.mark.parametrize("level", ["note", "due"])
def test_other_levels_neither_count_nor_are_barred(world: World, level: str) -> None:
    a_message(world.garden, world.member.person, level=level)
    assert may(world.member.person)
    a_message(world.garden, world.member.person)
    assert may(world.member.person, level)


@pytest.mark.parametrize(
    ("more", "counts"),
    [
        ({"channel": "inbox"}, False),
        ({"channel": "push"}, True),
        ({"state": "sent", "sent_at": NOON}, True),
        ({"state": "cancelled"}, False),
        ({"state": "expired"}, False),
        ({"state": "failed"}, False),
    ],
)
def test_what_disturbs_nobody_does_not_count(
    world: World, more: dict[str, Any], counts: bool
) -> None:
    a_message(world.garden, world.member.person, **more)
    assert may(world.member.person) is not counts


def test_what_waits_since_yesterday_counts_for_today(world: World) -> None:
    person = world.member.person
    waiting = a_message(world.garden, person, not_before=NOON - DAY, expires_at=NOON + DAY)
    assert not may(person)
    waiting.expires_at = NOON
    waiting.save()
    assert may(person)


def test_what_is_for_tomorrow_leaves_today(world: World) -> None:
    a_message(world.garden, world.member.person, not_before=NOON + DAY, expires_at=NOON + 2 * DAY)
    assert may(world.member.person)


def test_the_day_is_that_of_the_site(world: World) -> None:
    person = world.member.person
    # 23:30 of 14 October in Auckland (UTC+13), which is 10:30 in UTC.
    sent = datetime(2026, 10, 14, 10, 30, tzinfo=UTC)
    a_message(world.garden, person, state="sent", sent_at=sent)
    after_midnight = datetime(2026, 10, 14, 11, 0, tzinfo=UTC)
    assert may(person, now=after_midnight, zone="Pacific/Auckland")
    assert not may(person, now=after_midnight, zone="UTC")
    assert not may(person, now=after_midnight - timedelta(minutes=1), zone="Pacific/Auckland")


@pytest.mark.parametrize(
    ("begins", "hours"),
    [
        (datetime(2026, 10, 24, 22, tzinfo=UTC), 25),
        (datetime(2026, 3, 28, 23, tzinfo=UTC), 23),
    ],
)
def test_days_of_25_and_23_hours_are_days(world: World, begins: datetime, hours: int) -> None:
    person, ends = world.member.person, begins + timedelta(hours=hours)
    a_message(world.garden, person, state="sent", sent_at=begins)
    assert not may(person, now=ends - timedelta(minutes=1), zone="Europe/Madrid")
    assert may(person, now=ends, zone="Europe/Madrid")


def test_two_wakings_in_any_31_days(world: World) -> None:
    person = world.member.person
    for days in (0, 1):
        a_message(world.garden, person, level="act_now", state="sent", sent_at=NOON + days * DAY)
    assert not may(person, "act_now", NOON + 3 * DAY)
    assert may(person, "act_today", NOON + 3 * DAY)
    assert not may(person, "act_now", NOON + 31 * DAY - timedelta(seconds=1))
    assert may(person, "act_now", NOON + 31 * DAY)


def test_one_message_on_two_channels_is_one(world: World) -> None:
    person = world.member.person
    for channel in ("email", "push"):
        a_message(
            world.garden,
            person,
            key=f"frost_update:1:1:{channel}",
            channel=channel,
            level="act_now",
            state="sent",
            sent_at=NOON - 3 * DAY,
        )
    assert may(person, "act_now")


def test_many_people_in_one_query(world: World, django_assert_num_queries: Any) -> None:
    people = PersonFactory.create_batch(5)
    a_message(world.garden, people[2])
    with django_assert_num_queries(1):
        found = spent([person.pk for person in people], "act_today", NOON, "UTC")
    assert found == {people[2].pk}
