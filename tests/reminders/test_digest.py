"""The weekly message: once a week, on the person's own hour of the garden's clock, never empty."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.models import (
    Membership,
    Message,
    Person,
    Site,
)
from lifecycle.records.messages.message_choices import choose
from lifecycle.reminders.messages.digest import digest_all, last_hour
from tests.conftest import World
from tests.factories import MembershipFactory, SiteFactory
from tests.records.threads import all_at_once
from tests.reminders.climates import DAY, HOUR, at

SUNDAY = date(2026, 10, 11)
EVENING = at(SUNDAY, 18)
MINUTE = timedelta(minutes=1)
YEARS = tuple(at(date(year, 1, 1)).replace(tzinfo=None) for year in (2026, 2028))
ZONES = ("UTC", "Europe/Madrid", "America/New_York", "Australia/Lord_Howe", "Pacific/Kiritimati")


@pytest.fixture
def world(world: World) -> World:
    """The garden of the tests without its neighbour, who would get a message too."""
    Membership.objects.filter(person=world.outsider).update(left_on=date(2026, 1, 1))
    return world


def set_zone(world: World, zone: str) -> None:
    Site.objects.filter(pk=world.site.pk).update(time_zone=zone)


def written() -> set[str]:
    return set(Message.objects.filter(about="week").values_list("key", flat=True))


@pytest.mark.django_db
def test_it_comes_at_the_hour_and_not_before(world: World) -> None:
    assert digest_all(now=EVENING - MINUTE) == 0
    assert digest_all(now=EVENING) == 4
    message = Message.objects.get(person=world.member.person, channel="email")
    assert message.key == f"week:{world.garden.pk}:{world.member.person_id}:2026-W41:email"
    assert (message.kind, message.level, message.for_day) == ("week", "due", SUNDAY)
    assert message.not_before == EVENING
    assert message.expires_at == EVENING + 3 * DAY
    for later in (MINUTE, HOUR, 20 * HOUR, 3 * DAY, 7 * DAY - MINUTE):
        assert digest_all(now=EVENING + later) == 0
    assert digest_all(now=EVENING + 7 * DAY) == 4


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("late", "people"), [(DAY - MINUTE, 4), (DAY, 0), (5 * HOUR, 4)], ids=["in time", "late", "5 h"]
)
def test_after_a_standstill_it_is_made_up_for_a_day(
    world: World, late: timedelta, people: int
) -> None:
    assert digest_all(now=EVENING + late) == people
    for message in Message.objects.all():
        # Five hours later it is 23:00.
        waits = at(SUNDAY + DAY, 7) if late == 5 * HOUR else EVENING + late
        assert message.not_before == waits


@pytest.mark.django_db
def test_everybody_has_their_own_day_and_hour(world: World) -> None:
    Person.objects.filter(pk=world.member.person_id).update(digest_day=2, digest_hour=7)
    assert digest_all(now=at(date(2026, 10, 14), 6, 59)) == 0
    assert digest_all(now=at(date(2026, 10, 14), 7)) == 1
    assert {message.person for message in Message.objects.all()} == {world.member.person}


@pytest.mark.django_db
def test_a_changed_day_makes_no_second_message_of_the_week(world: World) -> None:
    Person.objects.update(digest_day=0)
    assert digest_all(now=at(SUNDAY - 6 * DAY, 18)) == 4
    for day in range(1, 7):
        Person.objects.update(digest_day=day)
        assert digest_all(now=at(SUNDAY - 6 * DAY, 18) + day * DAY) == 0


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("zone", "instant"),
    [
        ("UTC", datetime(2026, 10, 11, 18, tzinfo=UTC)),
        ("Pacific/Auckland", datetime(2026, 10, 11, 5, tzinfo=UTC)),
        ("Pacific/Kiritimati", datetime(2026, 10, 11, 4, tzinfo=UTC)),
        ("America/Los_Angeles", datetime(2026, 10, 12, 1, tzinfo=UTC)),
        ("Asia/Kathmandu", datetime(2026, 10, 11, 12, 15, tzinfo=UTC)),
    ],
)
def test_the_clock_is_that_of_the_first_site(world: World, zone: str, instant: datetime) -> None:
    set_zone(world, zone)
    SiteFactory(garden=world.garden, time_zone="America/New_York")
    assert digest_all(now=instant - MINUTE) == 0
    assert digest_all(now=instant) == 4
    assert set(Message.objects.values_list("for_day", flat=True)) == {SUNDAY}


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("zone", "start"),
    [
        ("Europe/Madrid", date(2026, 10, 12)),  # clocks go back on 25 October
        ("America/New_York", date(2027, 3, 1)),  # forward on 14 March
        ("Australia/Lord_Howe", date(2026, 9, 21)),  # forward by half an hour on 4 October
    ],
)
def test_one_a_week_over_a_change_of_the_clocks(world: World, zone: str, start: date) -> None:
    set_zone(world, zone)
    Membership.objects.exclude(pk=world.member.pk).update(left_on=start)
    # A day later, so that the Sunday before is not made up for.
    now, end = at(start + DAY), at(start + 28 * DAY)
    while now < end:
        digest_all(now=now)
        now += HOUR / 2
    made = Message.objects.filter(person=world.member.person, channel="email").order_by("pk")
    assert [each.for_day for each in made] == [start + (6 + 7 * n) * DAY for n in range(4)]
    for each in made:
        assert f"{each.not_before.astimezone(ZoneInfo(zone)):%A %H:%M}" == "Sunday 18:00"


@given(
    day=st.integers(0, 6),
    hour=st.integers(7, 20),
    zone=st.sampled_from(ZONES),
    now=st.datetimes(*YEARS, timezones=st.just(UTC)),
)
def test_the_last_hour_lies_within_a_week_and_shows_on_the_clock(
    day: int, hour: int, zone: str, now: datetime
) -> None:
    found, instant = last_hour(day, hour, zone, now)
    local = instant.astimezone(ZoneInfo(zone))
    assert instant <= now < instant + timedelta(days=7, hours=1)
    assert (local.weekday(), local.hour, local.minute) == (day, hour, 0)
    assert local.date() == found


@pytest.mark.django_db
def test_who_joined_after_the_hour_waits_for_the_next(world: World) -> None:
    Membership.objects.filter(pk=world.member.pk).update(joined_on=SUNDAY + DAY)
    assert digest_all(now=EVENING + 10 * HOUR) == 3


@pytest.mark.django_db
def test_not_to_who_left_nor_where_there_is_no_ground(world: World) -> None:
    Membership.objects.filter(pk=world.member.pk).update(left_on=SUNDAY)
    Person.objects.filter(pk=world.owner.person_id).update(is_active=False)
    MembershipFactory()
    assert digest_all(now=EVENING) == 2


@pytest.mark.django_db
def test_who_wants_no_mail_finds_it_on_the_page(world: World) -> None:
    choose(world.member.person, "week", "email", wanted=False)
    digest_all(now=EVENING)
    [message] = Message.objects.filter(person=world.member.person)
    assert message.channel == "inbox"


@pytest.mark.django_db
def test_a_quiet_tick_costs_three_queries_for_any_number_of_people(world: World) -> None:
    for _ in range(20):
        MembershipFactory(garden=world.garden)
    digest_all(now=EVENING)
    with CaptureQueriesContext(connection) as found:
        assert digest_all(now=EVENING + HOUR) == 0
    assert len(found) == 3


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_at_once_write_one_each(transactional_db: None, world: World) -> None:
    done = all_at_once(8, lambda _: digest_all(now=EVENING))
    assert all(isinstance(each, int) for each in done), done
    assert len(written()) == 8
