"""A window that a forecast closes: told once, at once, and taken back in silence."""

import re
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.agronomy.night_odds import low_after
from lifecycle.models import (
    FrostNight,
    Message,
    MessageItem,
    NightForecast,
    Person,
    PushSubscription,
    Site,
    Task,
)
from lifecycle.records.messages.message_choices import choose
from lifecycle.records.work.tasks import cannot_do, give
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.nights.frost_watch import watch_site
from lifecycle.reminders.weather.night_forecasts import error_for
from lifecycle.reminders.work.announce import announce_all
from lifecycle.reminders.work.promotion import promote_all, promote_site
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.threads import all_at_once
from tests.reminders.climates import DAY, HOUR, at
from tests.reminders.frost_nights import a_turn

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 14)
MORNING = at(TODAY, 9)
COLD, COOL, MILD = -4.0, 4.0, 12.0


@pytest.fixture
def lift(world: World) -> Task:
    """The member's plant is to be lifted between 1 and 20 October."""
    return a_task(world.plant, "lift")


def forecast(world: World, now: datetime, *lows: float, **more: Any) -> None:
    """Give the lows of tonight and the nights after it, as issued now, and judge them."""
    site = Site.objects.get(pk=world.site.pk)
    today = site.local_day(now)
    for lead, low in enumerate(lows):
        NightForecast.objects.create(
            garden=world.garden,
            site=site,
            source="daily",
            **{"issued_at": now, "received_at": now, **more},
            night=today + timedelta(lead),
            lead_nights=lead,
            low_c=low,
            wind_m_s=1.0,
        )
    watch_site(site, now)
    promote_all(now=now)


def loud(person: Person | None = None) -> list[Message]:
    rows = Message.objects.filter(about="promoted", channel="email")
    return list(rows.filter(person=person) if person else rows)


def stands(task: Task) -> date | None:
    task.refresh_from_db()
    return task.promoted_on


@pytest.mark.parametrize("lead", [0, 1, 2, 3])
def test_a_killing_night_within_three_days_closes_the_window(
    world: World, lift: Task, lead: int
) -> None:
    lows = [MILD] * 4
    lows[lead] = COLD
    forecast(world, MORNING, *lows)
    assert stands(lift) == TODAY
    assert re.fullmatch(
        rf"the night of \{{2026-10-{14 + lead}\}} may fall to \{{0\.00 C\}} or below "
        r"\((9 in 10|more than 19 in 20)\), and that kills the plant\.",
        lift.promoted_why,
    )
    [message] = loud()
    assert message.person == world.member.person
    assert (message.kind, message.level, message.for_day) == ("due", "act_today", TODAY)
    night = FrostNight.objects.get(night=TODAY + timedelta(lead))
    assert message.data == {"night": night.pk}
    assert message.expires_at == night.sunset_at
    assert [item.stage for item in message.items.all()] == ["promoted"]


@pytest.mark.parametrize("lows", [(MILD,) * 4, (MILD, MILD, MILD, MILD, COLD), ()])
def test_no_other_night_does(world: World, lift: Task, lows: tuple[float, ...]) -> None:
    forecast(world, MORNING, *lows)
    assert stands(lift) is None
    assert loud() == []


@pytest.mark.parametrize(
    ("kind", "closed"),
    [
        *((kind, True) for kind in ("lift", "winter_quarters", "last_pick", "backup")),
        *((kind, True) for kind in ("take_cutting", "label_check")),
        *((kind, False) for kind in ("cut_back", "acclimatise", "pest_check", "let_go", "harvest")),
    ],
)
def test_only_what_the_cold_would_spoil(world: World, kind: str, closed: bool) -> None:
    task = a_task(world.plant, kind)
    forecast(world, MORNING, COLD)
    assert (stands(task) is not None) is closed


@pytest.mark.parametrize(("earliest", "closed"), [(17, True), (18, False)])
def test_a_window_that_would_not_have_opened_is_not_closed(
    world: World, earliest: int, closed: bool
) -> None:
    opens = date(2026, 10, earliest)
    task = a_task(world.plant, "lift", earliest=opens, best=opens, latest=date(2026, 11, 1))
    forecast(world, MORNING, MILD, MILD, MILD, COLD)
    assert (stands(task) is not None) is closed


def test_what_is_late_already_is_promoted_too(world: World) -> None:
    task = a_task(world.plant, "lift", latest=date(2026, 10, 12))
    forecast(world, MORNING, COLD)
    assert stands(task) == TODAY


def test_under_a_roof_nothing_is_closed(world: World) -> None:
    task = a_task(a_plant(world.member, world.quarters, phase="resting"), "winter_quarters")
    out = a_task(world.plant, "lift")
    forecast(world, MORNING, COLD)
    assert (stands(task), stands(out)) == (None, TODAY)


def test_it_is_told_once_while_it_stands(world: World, lift: Task) -> None:
    forecast(world, MORNING, COOL, COLD)
    for hours in (1, 3, 8, 11, 24):
        now = MORNING + hours * HOUR
        forecast(world, now, COLD - 1, COLD - hours / 10)
    assert len(loud()) == 1
    assert MessageItem.objects.filter(stage="promoted", channel="email").count() == 1
    assert stands(lift) == TODAY


def test_the_page_says_the_chance_as_it_is_now(world: World, lift: Task) -> None:
    forecast(world, MORNING, MILD, MILD, 1.0)
    stands(lift)
    before = lift.promoted_why
    forecast(world, MORNING + HOUR, MILD, MILD, COLD)
    assert stands(lift) == TODAY
    assert lift.promoted_why != before


def test_when_the_forecast_relents_it_is_taken_back_in_silence(world: World, lift: Task) -> None:
    forecast(world, MORNING, COOL, COLD)
    forecast(world, MORNING + HOUR, MILD, MILD)
    assert stands(lift) is None
    assert lift.promoted_why == ""
    dispatch_all(now=MORNING + HOUR)
    # What had not gone out says nothing any more.
    assert {each.state for each in loud()} == {"cancelled"}
    forecast(world, MORNING + 2 * HOUR, COOL, COLD)
    assert stands(lift) == TODAY
    assert len(loud()) == 1


def test_a_promotion_of_another_day_is_told_anew(world: World, lift: Task) -> None:
    forecast(world, MORNING, COOL, COLD)
    dispatch_all(now=MORNING)
    forecast(world, MORNING + HOUR, MILD, MILD, MILD)
    forecast(world, MORNING + DAY, COOL, COOL, COLD)
    assert stands(lift) == TODAY + DAY
    assert [each.for_day for each in loud()] == [TODAY, TODAY + DAY]
    item = MessageItem.objects.get(stage="promoted", channel="email")
    assert item.message.for_day == TODAY + DAY


def low_with(world: World, share: float) -> float:
    """The forecast of tonight that gives this share of the chance at which the site acts."""
    error = error_for(world.site, 0, True, MORNING)
    lows = [tenth / 10 for tenth in range(0, 120)]
    return min(lows, key=lambda low: abs(low_after(low, error, None, TODAY).chance(0) * 20 - share))


def test_it_stands_until_the_chance_is_halved(world: World, lift: Task) -> None:
    """Between the ratio and half of it there is neither a promotion nor an end of one."""
    over, between, under = (low_with(world, share) for share in (1.2, 0.75, 0.4))
    for hours, (low, promoted) in enumerate(
        [(between, False), (over, True), (between, True), (under, False), (between, False)]
    ):
        forecast(world, MORNING + hours * HOUR, low)
        assert (stands(lift) is not None) is promoted, hours


def test_an_old_forecast_neither_promotes_nor_relents(world: World, lift: Task) -> None:
    old = MORNING - timedelta(hours=20)
    forecast(world, MORNING, COLD, issued_at=old, received_at=old)
    assert stands(lift) is None
    forecast(world, MORNING + HOUR, COLD)
    assert stands(lift) == TODAY
    late = MORNING + 10 * HOUR
    watch_site(world.site, late)
    promote_site(world.site, now=late)
    assert FrostNight.objects.get().stale
    assert stands(lift) == TODAY


def test_a_cold_night_that_is_past_releases_what_it_closed(world: World, lift: Task) -> None:
    forecast(world, MORNING, COLD)
    later = MORNING + 4 * DAY
    promote_site(world.site, now=later)
    assert stands(lift) is None


@pytest.mark.parametrize("who", ["assignee", "nobody"])
def test_it_goes_to_who_minds_it_or_to_the_coordinators(world: World, who: str) -> None:
    other = MembershipFactory(garden=world.garden)
    holder = None if who == "nobody" else world.member.person
    task = a_task(a_plant(world.owner, world.bed, holder=holder), "lift")
    if who == "assignee":
        give(world.coordinator, task, other.person, now=NOON)
    forecast(world, MORNING, COLD)
    wanted = {other.person} if who == "assignee" else {world.owner.person, world.coordinator.person}
    assert {message.person for message in loud()} == wanted


def test_one_message_tells_of_all_that_is_closed(world: World, lift: Task) -> None:
    pick = a_task(world.plant, "last_pick")
    other = a_task(a_plant(world.member, world.bench), "lift")
    forecast(world, MORNING, COLD)
    [message] = loud()
    told = set(message.items.values_list("task", flat=True))
    # The raising bench is under cover.
    assert told == {lift.pk, pick.pk}
    assert stands(other) is None


def interrupted(person: Person, now: datetime) -> None:
    Message.objects.create(
        garden=MembershipFactory(person=person).garden,
        person=person,
        key="another garden's ask:email",
        about="frost_ask",
        channel="email",
        kind="frost",
        level="act_today",
        for_day=now.date(),
        not_before=now,
        expires_at=now,
        made_at=now,
        state="sent",
        sent_at=now,
    )


def test_who_was_interrupted_today_reads_it_in_the_morning(world: World, lift: Task) -> None:
    interrupted(world.member.person, MORNING - HOUR)
    announce_all(now=at(TODAY, 7))
    dispatch_all(now=at(TODAY, 7))
    forecast(world, MORNING, COOL, COLD)
    assert stands(lift) == TODAY
    assert loud() == []
    tomorrow = at(TODAY + DAY, 6)
    promote_all(now=tomorrow)
    [message] = Message.objects.filter(for_day=TODAY + DAY, channel="inbox")
    # A new day has a new budget, and the quiet hours end at seven.
    assert message.about == "promoted"
    assert message.not_before == at(TODAY + DAY, 7)


def test_the_morning_message_that_waits_takes_it_up(world: World, lift: Task) -> None:
    now = at(TODAY, 5)
    interrupted(world.member.person, now)
    forecast(world, now, COOL, COLD)
    announce_all(now=now)
    [message] = Message.objects.filter(about="due", channel="email")
    assert sorted(item.stage for item in message.items.all()) == ["opened", "promoted"]
    assert message.level == "due"
    dispatch_all(now=at(TODAY, 7))
    message.refresh_from_db()
    assert message.body.count(f"/tasks/{lift.pk}\n") == 1
    assert "The forecast closes this window: the night of 15 October may fall to" in message.body


def test_who_is_on_call_tonight_is_left_to_the_frost(world: World, lift: Task) -> None:
    now = at(TODAY, 5)
    a_turn(world.site, world.member.person)
    forecast(world, now, COLD, COLD)
    assert FrostNight.objects.get(night=TODAY).state in ("called", "possible")
    assert loud() == []
    assert MessageItem.objects.filter(stage="promoted", message__about="due").exists()


def test_who_is_on_call_on_a_mild_night_is_told_at_once(world: World, lift: Task) -> None:
    a_turn(world.site, world.member.person)
    forecast(world, MORNING, MILD, COLD)
    assert len(loud()) == 1


@pytest.mark.parametrize(
    ("hour", "not_before"), [(9, at(TODAY, 9)), (4, at(TODAY, 7)), (22, at(TODAY + DAY, 7))]
)
def test_nobody_is_woken_up(world: World, lift: Task, hour: int, not_before: datetime) -> None:
    forecast(world, at(TODAY, hour), MILD, COLD)
    [message] = loud()
    assert message.not_before == not_before


def test_two_of_one_night_are_one_interruption_in_the_morning(world: World, lift: Task) -> None:
    forecast(world, at(TODAY, 22), MILD, MILD, COLD)
    pick = a_task(world.plant, "last_pick")
    forecast(world, at(TODAY, 23), MILD, MILD, COLD)
    [message] = loud()
    assert [item.task for item in message.items.all()] == [lift]
    [item] = MessageItem.objects.filter(task=pick, stage="promoted", channel="email")
    assert (item.message.about, item.message.level) == ("due", "due")


def test_after_sunset_it_is_too_late_for_tonight(world: World, lift: Task) -> None:
    forecast(world, at(TODAY, 20), COLD)
    assert stands(lift) == TODAY
    assert loud() == []


def test_channels_are_those_of_what_is_due(world: World, lift: Task) -> None:
    person = world.member.person
    choose(person, "due", "email", wanted=False)
    choose(person, "due", "push", wanted=True)
    PushSubscription.objects.create(person=person, endpoint="https://push.example", made_at=NOON)
    forecast(world, MORNING, COLD)
    rows = Message.objects.filter(about="promoted")
    assert sorted(rows.values_list("channel", flat=True)) == ["inbox", "push"]


def test_the_southern_garden_on_its_own_day(world: World) -> None:
    Site.objects.filter(pk=world.site.pk).update(
        time_zone="Australia/Sydney", latitude=-35.0, longitude=149.0, year_starts_in=7
    )
    days = {name: date(2026, 5, day) for name, day in zip(
        ("earliest", "best", "latest"), (1, 10, 20), strict=True
    )}  # fmt: skip
    task = a_task(world.plant, "lift", **days)
    now = at(date(2026, 5, 12), 23)  # nine in the morning of the 13th there
    forecast(world, now, COLD)
    assert stands(task) == date(2026, 5, 13)
    [message] = loud()
    assert message.expires_at > now
    assert "{2026-05-13}" in task.promoted_why


def test_a_closed_task_is_left_alone(world: World, lift: Task) -> None:
    cannot_do(world.member, lift, "Dead", now=NOON)
    forecast(world, MORNING, COLD)
    assert stands(lift) is None


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_at_once_tell_once(transactional_db: None, world: World) -> None:
    task = a_task(world.plant, "lift")
    Task.objects.filter(pk=task.pk).update(kind="cut_back")
    forecast(world, MORNING, COLD)
    Task.objects.filter(pk=task.pk).update(kind="lift")
    done = all_at_once(8, lambda _: promote_site(world.site, now=MORNING))
    assert all(isinstance(each, int) for each in done), done
    assert sum(done) == 1
    assert Message.objects.filter(about="promoted").count() == 2
    assert MessageItem.objects.filter(stage="promoted").count() == 2


def test_the_queries_do_not_grow_with_the_tasks(world: World, lift: Task) -> None:
    def promoted(plants: int, now: datetime) -> int:
        for _ in range(plants):
            a_task(a_plant(world.member, world.bed), "lift")
        watch_site(world.site, now)
        with CaptureQueriesContext(connection) as queries:
            promote_site(world.site, now=now)
        return len(queries)

    forecast(world, MORNING, MILD, COLD)
    Message.objects.all().delete()
    few = promoted(3, MORNING + HOUR)
    Message.objects.all().delete()
    assert promoted(60, MORNING + 2 * HOUR) == few


def test_without_such_tasks_a_tick_asks_once(world: World) -> None:
    with CaptureQueriesContext(connection) as queries:
        assert promote_site(world.site, now=MORNING) == 0
    assert len(queries) == 1
