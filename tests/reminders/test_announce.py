"""Who is told of what, how often, and when."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Membership, Message, MessageItem, Person, Task
from lifecycle.records.messages.message_choices import choose
from lifecycle.records.work.tasks import give
from lifecycle.reminders.messages.dispatch import dispatch_all, expire
from lifecycle.reminders.work.announce import KEPT_DAYS, announce_all, announce_site
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory, a_plant, a_task
from tests.records.threads import all_at_once
from tests.reminders.climates import DAY, HOUR, at

pytestmark = pytest.mark.django_db


def told(person: Person, channel: str = "inbox") -> set[int]:
    items = MessageItem.objects.filter(person=person, channel=channel)
    return set(items.values_list("task", flat=True))


def test_the_holder_is_told_once_on_each_channel(world: World) -> None:
    task = a_task(world.plant, "lift")
    assert announce_all(now=NOON) == 2
    assert told(world.member.person) == told(world.member.person, "email") == {task.pk}
    for hours in (1, 5, 24, 48):
        assert announce_all(now=NOON + hours * HOUR) == 0
    assert Message.objects.count() == 2


def test_only_when_the_window_has_opened(world: World) -> None:
    a_task(world.plant, "lift", earliest=date(2026, 10, 15), best=date(2026, 10, 15))
    assert announce_all(now=NOON) == 0
    assert announce_all(now=NOON + DAY) == 2


@pytest.mark.parametrize("state", ["done", "withdrawn", "cannot"])
def test_closed_tasks_are_not_told(world: World, state: str) -> None:
    a_task(world.plant, "lift", state=state)
    assert announce_all(now=NOON) == 0


def test_one_message_a_day_holds_what_the_day_brings(world: World) -> None:
    first = a_task(world.plant, "lift")
    announce_all(now=NOON)
    second = a_task(world.plant, "cut_back")
    announce_all(now=NOON + HOUR)
    [inbox] = Message.objects.filter(channel="inbox")
    assert set(inbox.items.values_list("task", flat=True)) == {first.pk, second.pk}


def test_what_opens_after_the_message_went_out_waits_for_tomorrow(world: World) -> None:
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    dispatch_all(now=NOON)
    late = a_task(world.plant, "cut_back")
    assert announce_all(now=NOON + HOUR) == 0
    assert announce_all(now=NOON + DAY) == 2
    tomorrow = Message.objects.filter(for_day=NOON.date() + DAY)
    assert {item.task_id for message in tomorrow for item in message.items.all()} == {late.pk}
    assert tomorrow.count() == 2


def test_a_message_being_sent_takes_no_more(world: World) -> None:
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    Message.objects.update(claim="00000000-0000-0000-0000-000000000001")
    a_task(world.plant, "cut_back")
    assert announce_all(now=NOON + HOUR) == 0


def test_an_assigned_task_is_told_to_whom_it_was_given(world: World) -> None:
    other = MembershipFactory(garden=world.garden)
    task = a_task(world.plant, "lift")
    give(world.coordinator, task, other.person, now=NOON)
    announce_all(now=NOON)
    assert told(other.person) == {task.pk}
    assert told(world.member.person) == set()


@pytest.mark.parametrize("holder", ["nobody", "who left"])
def test_what_nobody_holds_goes_to_coordinators_and_owners(world: World, holder: str) -> None:
    gone = MembershipFactory(garden=world.garden)
    plant = a_plant(world.member, world.bed, holder=None if holder == "nobody" else gone.person)
    Membership.objects.filter(pk=gone.pk).update(left_on=date(2026, 9, 1))
    task = a_task(plant, "lift")
    announce_all(now=NOON)
    assert told(world.coordinator.person) == told(world.owner.person) == {task.pk}
    for person in (world.member.person, world.committee.person, gone.person, world.outsider):
        assert told(person) == set()


def test_who_wants_no_mail_gets_none(world: World) -> None:
    choose(world.member.person, "due", "email", wanted=False)
    a_task(world.plant, "lift")
    assert announce_all(now=NOON) == 1
    assert told(world.member.person, "email") == set()


@pytest.mark.parametrize(
    ("zone", "hour", "not_before"),
    [
        ("UTC", 12, at(date(2026, 10, 14), 12)),
        ("UTC", 3, at(date(2026, 10, 14), 7)),
        ("UTC", 22, at(date(2026, 10, 15), 7)),
        ("Australia/Sydney", 12, at(date(2026, 10, 14), 20)),  # eleven at night there
        ("America/New_York", 2, at(date(2026, 10, 14), 11)),
    ],
)
def test_nobody_is_woken_up(world: World, zone: str, hour: int, not_before) -> None:
    world.site.time_zone = zone
    world.site.save()
    a_task(world.plant, "lift")
    announce_all(now=at(date(2026, 10, 14), hour))
    for message in Message.objects.all():
        assert message.not_before == not_before
        assert message.expires_at == not_before + timedelta(days=KEPT_DAYS)


def test_what_went_stale_is_told_anew(world: World) -> None:
    task = a_task(world.plant, "lift", latest=date(2026, 12, 1))
    announce_all(now=NOON)
    later = NOON + timedelta(days=KEPT_DAYS)
    assert expire(now=later - HOUR) == 0
    assert expire(now=later) == 2
    assert set(Message.objects.values_list("state", flat=True)) == {"expired"}
    assert announce_all(now=later) == 2
    assert told(world.member.person) == {task.pk}
    assert dispatch_all(now=later) == 2


def test_two_sites_of_a_garden_share_the_day_s_message(world: World) -> None:
    bed = world.bed.__class__.objects.create(
        garden=world.garden, site=SiteFactory(garden=world.garden), name="Far", kind="bed"
    )
    a_task(world.plant, "lift")
    a_task(a_plant(world.member, bed), "lift")
    assert announce_all(now=NOON) == 4
    assert Message.objects.count() == 2


def test_gardens_are_told_apart(world: World) -> None:
    elsewhere = MembershipFactory(person=world.member.person)
    a_task(world.plant, "lift")
    announce_all(now=NOON)
    assert not Message.objects.filter(garden=elsewhere.garden).exists()


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_at_once_tell_once(transactional_db: None, world: World) -> None:
    tasks = [a_task(world.plant, kind) for kind in ("lift", "cut_back", "pest_check")]
    done = all_at_once(8, lambda _: announce_site(world.site, now=NOON))
    assert all(isinstance(each, int) for each in done), done
    assert told(world.member.person) == {task.pk for task in tasks}
    assert MessageItem.objects.count() == 6
    assert Message.objects.count() == 2


def test_the_queries_do_not_grow_with_the_plants(world: World) -> None:
    def announced(plants: int, day: int) -> int:
        for _ in range(plants):
            a_task(a_plant(world.member, world.bed), "lift")
        with CaptureQueriesContext(connection) as queries:
            announce_site(world.site, now=NOON + day * DAY)
        assert Task.objects.filter(announced__isnull=True).count() == 0
        return len(queries)

    assert announced(20, 0) == announced(150, 1)
