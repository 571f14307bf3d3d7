"""A task nobody does: told twice, offered once, raised; never daily."""

from collections import Counter
from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.care.catalogue import ROUTINE
from lifecycle.models import Membership, Message, MessageItem, Person, Plant, Task
from lifecycle.records.messages.message_choices import choose
from lifecycle.records.work.tasks import cannot_do, give
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.ticks import dispatch_tick, remind_tick
from lifecycle.reminders.work.announce import announce_all
from lifecycle.reminders.work.escalation import escalate_all, escalate_site
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_sowing, a_task
from tests.records.threads import all_at_once
from tests.reminders.climates import DAY, HOUR, at

pytestmark = pytest.mark.django_db
FIRST, LAST = date(2026, 10, 2), date(2026, 10, 9)
Told = Counter[tuple[str, str]]


@pytest.fixture
def neglected(world: World) -> Task:
    """A task of the member, open from 2 to 9 October."""
    return a_task(world.plant, "cut_back", earliest=FIRST, best=date(2026, 10, 5), latest=LAST)


@pytest.fixture
def neighbour(world: World) -> Membership:
    """Somebody else with a plant in the same bed."""
    member = MembershipFactory(garden=world.garden)
    a_plant(member, world.bed)
    return member


def live(days: int, first: date = FIRST, *, until: Callable[[date], None] | None = None) -> None:
    """Let the ticks run, morning and evening."""
    for number in range(days):
        day = first + timedelta(number)
        for hour in (7, 18):
            remind_tick(now=at(day, hour))
            dispatch_tick(now=at(day, hour))
        if until is not None:
            until(day)


def sent(person: Person, channel: str = "email") -> Counter[str]:
    """How many messages a person was sent on a channel, by what they are about."""
    rows = Message.objects.filter(person=person, channel=channel, state="sent")
    return Counter(rows.values_list("about", flat=True))


def days_told(person: Person, stage: str) -> list[date]:
    rows = MessageItem.objects.filter(person=person, channel="email", stage=stage)
    return list(rows.values_list("message__for_day", flat=True))


def test_in_thirty_days_it_makes_two_messages_and_one_offer(
    world: World, neglected: Task, neighbour: Membership
) -> None:
    live(30)
    holder = world.member.person
    # Sundays from 4 to 25 October.
    for channel in ("email", "inbox"):
        assert sent(holder, channel) == {"due": 2, "week": 4}
        assert sent(neighbour.person, channel) == {"offered": 1, "week": 4}
        for other in (world.coordinator, world.owner, world.committee):
            assert sent(other.person, channel) == {"week": 4}
    assert days_told(holder, "opened") == [FIRST]
    assert days_told(holder, "late") == [LAST]
    assert days_told(neighbour.person, "offered") == [LAST + 3 * DAY]
    neglected.refresh_from_db()
    assert (neglected.offered_on, neglected.raised_on) == (LAST + 3 * DAY, LAST + 6 * DAY)


def test_the_days_of_the_ladder(world: World, neglected: Task, neighbour: Membership) -> None:
    def look(day: date) -> None:
        neglected.refresh_from_db()
        assert (neglected.offered_on is not None) is (day >= LAST + 3 * DAY), day
        assert (neglected.raised_on is not None) is (day >= LAST + 6 * DAY), day
        assert bool(days_told(world.member.person, "late")) is (day >= LAST), day

    announce_all(now=at(FIRST))
    live(8, LAST - DAY, until=look)


@pytest.mark.parametrize("after", [0, 4])
def test_what_is_done_is_not_told_again(
    world: World, neglected: Task, neighbour: Membership, after: int
) -> None:
    announce_all(now=at(FIRST))
    live(after + 1, LAST)
    cannot_do(world.member, neglected, "Dead", now=at(LAST + after * DAY, 20))
    before = Message.objects.exclude(about="week").count()
    live(7, LAST + (after + 1) * DAY)
    assert Message.objects.exclude(about="week").count() == before
    neglected.refresh_from_db()
    assert neglected.raised_on is None


def test_the_last_day_is_told_only_to_who_knew_before(world: World) -> None:
    a_task(world.plant, "cut_back", earliest=LAST, best=LAST, latest=LAST)
    live(2, LAST)
    assert days_told(world.member.person, "opened") == [LAST]
    assert days_told(world.member.person, "late") == []


def test_who_got_it_late_is_not_told_of_its_last_day(world: World, neglected: Task) -> None:
    live(1, LAST - DAY)
    other = MembershipFactory(garden=world.garden)
    give(world.coordinator, neglected, other.person, now=NOON)
    live(1, LAST)
    assert days_told(other.person, "opened") == [LAST]
    live(2, LAST + DAY)
    assert days_told(other.person, "late") == []
    assert days_told(world.member.person, "late") == []


@pytest.mark.parametrize(("days", "told"), [(0, True), (2, True), (3, False)])
def test_after_a_standstill_the_last_day_is_still_told(
    world: World, neglected: Task, days: int, told: bool
) -> None:
    announce_all(now=at(FIRST))
    announce_all(now=at(LAST + days * DAY))
    assert bool(days_told(world.member.person, "late")) is told


@pytest.mark.parametrize("kind", sorted(ROUTINE))
def test_a_round_never_nags(world: World, neighbour: Membership, kind: str) -> None:
    task = a_task(world.plant, kind, earliest=FIRST, best=FIRST, latest=LAST)
    for day in range(0, 40, 3):
        now = at(FIRST + day * DAY)
        announce_all(now=now)
        escalate_all(now=now)
    assert days_told(world.member.person, "opened") == [FIRST]
    assert MessageItem.objects.exclude(stage="opened").count() == 0
    task.refresh_from_db()
    assert (task.offered_on, task.raised_on) == (None, None)


def offer(task: Task) -> None:
    escalate_all(now=at(task.latest + 3 * DAY))


def offered_to() -> set[str]:
    rows = MessageItem.objects.filter(stage="offered")
    return set(rows.values_list("person__email", flat=True))


def test_it_is_offered_to_nobody_where_nobody_else_holds_a_plant(
    world: World, neglected: Task
) -> None:
    a_plant(MembershipFactory(garden=world.garden), world.bench)
    offer(neglected)
    assert offered_to() == set()
    neglected.refresh_from_db()
    assert neglected.offered_on == LAST + 3 * DAY


def test_it_is_offered_to_the_living_bed_only(world: World, neglected: Task) -> None:
    gone, reader, ended = (MembershipFactory(garden=world.garden) for _ in range(3))
    for member in (gone, reader):
        a_plant(member, world.bed)
    Plant.objects.filter(pk=a_plant(ended, world.bed).pk).update(phase="ended")
    Membership.objects.filter(pk=gone.pk).update(left_on=FIRST)
    Membership.objects.filter(pk=reader.pk).update(role="committee")
    Person.objects.filter(pk=a_plant_of_closed_account(world).pk).update(is_active=False)
    sower = MembershipFactory(garden=world.garden)
    a_sowing(sower, world.bed)
    offer(neglected)
    assert offered_to() == {sower.person.email}


def a_plant_of_closed_account(world: World) -> Person:
    member = MembershipFactory(garden=world.garden)
    a_plant(member, world.bed)
    return member.person


def test_it_is_not_offered_to_who_neglects_it(
    world: World, neglected: Task, neighbour: Membership
) -> None:
    give(world.coordinator, neglected, neighbour.person, now=NOON)
    offer(neglected)
    assert offered_to() == {world.member.person.email}


def test_one_message_offers_all_that_is_late(world: World, neighbour: Membership) -> None:
    tasks = [
        a_task(world.plant, kind, latest=LAST, best=LAST)
        for kind in ("cut_back", "pest_check", "lift")
    ]
    offer(tasks[0])
    [message] = Message.objects.filter(about="offered", channel="email")
    assert set(message.items.values_list("task", flat=True)) == {task.pk for task in tasks}
    assert (message.kind, message.level) == ("handed", "due")


def test_who_wants_no_offers_reads_them_on_the_page(
    world: World, neglected: Task, neighbour: Membership
) -> None:
    choose(neighbour.person, "handed", "email", wanted=False)
    offer(neglected)
    [message] = Message.objects.filter(about="offered")
    assert message.channel == "inbox"


def test_the_offer_is_told_in_words(
    world: World, neglected: Task, neighbour: Membership, mailoutbox: list
) -> None:
    offer(neglected)
    dispatch_all(now=at(LAST + 3 * DAY))
    [mail] = [each for each in mailoutbox if each.to == [neighbour.person.email]]
    assert mail.subject == ("Northfield: would you take this on? Cut back: Cayenne by the gate")
    assert "Cut back: Cayenne by the gate, Bed 3" in mail.body
    assert "It was due by 9 October." in mail.body
    assert f"/g/northfield/tasks/{neglected.pk}" in mail.body
    assert "Member" not in mail.body.split("Why you get this")[0]


@pytest.mark.parametrize("how", ["taken", "closed", "handed over"])
def test_what_was_taken_meanwhile_is_not_offered(
    world: World, neglected: Task, neighbour: Membership, mailoutbox: list, how: str
) -> None:
    offer(neglected)
    if how == "taken":
        give(world.coordinator, neglected, world.coordinator.person, now=NOON)
    elif how == "closed":
        cannot_do(world.member, neglected, "Dead", now=NOON)
    else:
        Plant.objects.filter(pk=world.plant.pk).update(holder=world.owner.person)
    dispatch_all(now=at(LAST + 3 * DAY))
    assert neighbour.person.email not in [mail.to[0] for mail in mailoutbox]
    assert set(Message.objects.filter(about="offered").values_list("state", flat=True)) == {
        "cancelled"
    }


def test_a_window_that_moves_on_is_no_neglect(
    world: World, neglected: Task, neighbour: Membership
) -> None:
    offer(neglected)
    escalate_all(now=at(LAST + 6 * DAY))
    later = LAST + 20 * DAY
    Task.objects.update(latest=later)
    escalate_all(now=at(LAST + 7 * DAY))
    neglected.refresh_from_db()
    assert (neglected.offered_on, neglected.raised_on) == (None, None)
    escalate_all(now=at(later + 3 * DAY))
    neglected.refresh_from_db()
    assert neglected.offered_on == later + 3 * DAY
    assert MessageItem.objects.filter(stage="offered", channel="email").count() == 1


def test_an_offer_at_night_waits_for_the_morning(
    world: World, neglected: Task, neighbour: Membership
) -> None:
    escalate_all(now=at(LAST + 3 * DAY, 2))
    [message] = Message.objects.filter(about="offered", channel="email")
    assert message.not_before == at(LAST + 3 * DAY, 7)


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_eight_at_once_offer_once(
    transactional_db: None, world: World, neglected: Task, neighbour: Membership
) -> None:
    now = at(LAST + 3 * DAY)
    done = all_at_once(8, lambda _: escalate_site(world.site, now=now))
    assert all(isinstance(each, int) for each in done), done
    assert Message.objects.filter(about="offered").count() == 2
    assert MessageItem.objects.filter(stage="offered").count() == 2


def test_the_queries_do_not_grow_with_tasks_or_people(world: World) -> None:
    def escalated(number: int, now: datetime) -> int:
        for _ in range(number):
            a_task(a_plant(world.member, world.bed), "cut_back", latest=LAST, best=LAST)
        with CaptureQueriesContext(connection) as queries:
            escalate_site(world.site, now=now)
        return len(queries)

    a_plant(MembershipFactory(garden=world.garden), world.bed)
    few = escalated(3, at(LAST + 3 * DAY))
    assert escalated(40, at(LAST + 3 * DAY, 13)) == few


def test_announcing_costs_the_same_for_many_people(world: World) -> None:
    def quiet() -> int:
        announce_all(now=NOON)
        with CaptureQueriesContext(connection) as queries:
            announce_all(now=NOON + HOUR)
        return len(queries)

    a_task(world.plant, "lift")
    few = quiet()
    for _ in range(12):
        a_task(a_plant(MembershipFactory(garden=world.garden), world.bed), "lift")
    assert quiet() == few
