"""Coordinate: what is wrong, worst first, and how the messages of the month did."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import (
    Ask,
    ForecastSource,
    FrostNight,
    Membership,
    Message,
    MessageItem,
    Task,
)
from lifecycle.records.messages.message_choices import choose
from lifecycle.reminders.nights.alert_health import ActedOn, health_of
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.frosts import a_bed
from tests.reminders.climates import DAY
from tests.reminders.frost_nights import a_night

SignIn = Callable[..., Client]
TODAY = date(2026, 10, 14)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def text(world: World, as_person: SignIn) -> Callable[[], str]:
    client = as_person(world.coordinator)
    return lambda: client.get(f"{world.address}coordinate").content.decode()


@pytest.mark.parametrize(
    ("role", "status"), [("owner", 200), ("coordinator", 200), ("member", 403), ("committee", 403)]
)
def test_it_is_for_coordinators(world: World, as_person: SignIn, role: str, status: int) -> None:
    client = as_person(getattr(world, role))
    assert client.get(f"{world.address}coordinate").status_code == status
    assert client.post(f"{world.address}coordinate").status_code == 405
    assert as_person(world.outsider).get(f"{world.address}coordinate").status_code == 404


def test_a_garden_in_order_says_so(text: Callable[[], str]) -> None:
    assert "<h1>Nothing to put right</h1>" in text()
    assert "Every task and every plant has somebody, and messages arrive." in text()


def test_every_task_that_needs_somebody_stands_once(world: World, text: Callable[[], str]) -> None:
    past = {"best": TODAY - 5 * DAY, "latest": TODAY - 4 * DAY}
    orphan = a_plant(world.owner, world.bed, name="Orphan", holder=None)
    a_task(orphan, "lift")
    a_task(orphan, "cut_back", earliest=TODAY + 8 * DAY, best=TODAY + 8 * DAY,
           latest=TODAY + 8 * DAY)  # fmt: skip
    a_task(orphan, "pest_check", **past, offered_on=TODAY, raised_on=TODAY)
    a_task(world.plant, "last_pick", **past, offered_on=TODAY)
    a_task(world.plant, "label_check", best=TODAY - 5 * DAY, latest=TODAY - DAY)
    a_task(world.plant, "backup", latest=TODAY)
    page = text()
    parts = page.split("<h2>")
    found = {
        part.split("</h2>")[0]: [
            label
            for label in ("Lift", "Cut back", "Check for pests", "Last pick", "Check the label")
            if f"{label}" in part
        ]
        for part in parts[1:5]
    }
    assert found == {
        "Neglected": ["Check for pests"],
        "Nobody has it": ["Lift"],
        "Offered to others of the bed": ["Last pick"],
        "Past its last day": ["Check the label"],
    }
    assert "Keep seed" not in page
    assert "<h1>5 things to put right</h1>" in page
    assert "1 plant has no holder" in page
    assert f"{world.address}plants?holder=0" in page


def test_the_heading_counts_the_rows_below_it(world: World, text: Callable[[], str]) -> None:
    orphan = a_plant(world.owner, world.bed, name="Orphan", holder=None)
    for kind in ("lift", "cut_back", "pest_check"):
        a_task(orphan, kind)
    page = text()
    assert "<h1>4 things to put right</h1>" in page
    below = page.split("<h1>")[1].split("<h2>Messages")[0]
    assert below.count("<li>") == 4


def test_a_holder_who_left_holds_nothing(world: World, text: Callable[[], str]) -> None:
    a_task(world.plant, "lift")
    Membership.objects.filter(pk=world.member.pk).update(left_on=TODAY)
    assert "1 plant has no holder" in text()
    assert "Nobody has it" in text()


@pytest.mark.parametrize(
    ("accepted", "needed", "said"),
    [
        (0, 2, "Frost tonight at Canal bank: nobody said yes yet"),
        (1, 2, "Frost tonight at Canal bank: 1 of 2 said yes"),
        (2, 2, ""),
        (0, 0, "Frost tonight at Canal bank: nobody said yes yet"),
        (1, 0, ""),
    ],
)
def test_too_few_people_for_tonight_come_first(
    world: World, text: Callable[[], str], accepted: int, needed: int, said: str
) -> None:
    night = a_night(world.site, people_needed=needed)
    for number in range(accepted):
        an_ask(night, MembershipFactory(garden=world.garden), "accepted", number)
    an_ask(night, world.owner, "declined", 1)
    page = text()
    assert ("Frost tonight" in page) is bool(said)
    assert said in page
    if said:
        assert page.index(said) < page.index("Nobody is on call")
        assert f"{world.address}frost/{world.site.pk}/2026-10-14" in page


def an_ask(night: FrostNight, member: Membership, state: str, minutes: int | None) -> Ask:
    at = night.judged_at
    return Ask.objects.create(
        garden_id=night.garden_id,
        frost_night=night,
        person=member.person,
        rung=1,
        state=state,
        nonce=uuid4(),
        asked_at=at,
        answer_by=at + 45 * MINUTE,
        answered_at=None if minutes is None else at + minutes * MINUTE,
    )


@pytest.mark.parametrize("state", ["possible", "cancelled", "not_needed"])
def test_a_night_that_is_not_called_asks_nobody(
    world: World, text: Callable[[], str], state: str
) -> None:
    a_night(world.site, state=state)
    assert "Frost tonight" not in text()


def test_failures_are_named_with_their_place(world: World, text: Callable[[], str]) -> None:
    a_sent(world, 1, state="failed", sent_at=None)
    ForecastSource.objects.create(
        garden=world.garden, site=world.site, set_at=NOON, failures=3, last_error="Answered 500."
    )
    page = text()
    assert "1 message did not arrive" in page
    assert f"{world.address}system" in page
    assert "The forecast for Canal bank cannot be fetched" in page
    assert "Answered 500." in page


def a_sent(world: World, number: int, **more: object) -> Message:
    given = {
        "garden": world.garden,
        "person": world.member.person,
        "key": f"sent:{number}:{more.get('person', '')}",
        "channel": "email",
        "for_day": TODAY,
        "not_before": NOON,
        "expires_at": NOON,
        "made_at": NOON,
        "state": "sent",
        "sent_at": NOON,
        **more,
    }
    return Message.objects.create(**given)


def test_messages_of_the_month_are_counted_a_person(world: World, text: Callable[[], str]) -> None:
    for number in range(4):
        a_sent(world, number)
    a_sent(world, 5, person=world.owner.person, channel="push")
    a_sent(world, 6, channel="inbox")
    a_sent(world, 7, sent_at=NOON - 31 * DAY)
    a_sent(world, 8, state="pending", sent_at=None)
    assert "5 to 4 members: 1.2 each, most to one 4" in text()


def test_answers_are_timed_and_held_against_their_time(world: World) -> None:
    night = a_night(world.site)
    for minutes, state in ((10, "accepted"), (30, "declined"), (60, "accepted"), (None, "asked")):
        an_ask(night, MembershipFactory(garden=world.garden), state, minutes)
    an_ask(night, MembershipFactory(garden=world.garden), "called_off", None)
    by_himself = an_ask(night, world.owner, "accepted", 1)
    Ask.objects.filter(pk=by_himself.pk).update(rung=0)
    health = health_of(world.garden, today=TODAY, now=NOON)
    assert (health.asks, health.in_time, health.answer_minutes) == (4, 2, 30)
    assert health.acted_on[0] == ActedOn(Message.Kind.FROST, 4, 3)


def test_frost_calls_are_held_against_the_nights(world: World, text: Callable[[], str]) -> None:
    over = {"state": "over"}
    days = iter(range(1, 30))
    for called, low, number in ((True, -2.0, 3), (True, 2.0, 2), (False, -1.0, 1), (False, 5.0, 4)):
        for _ in range(number):
            a_night(
                world.site,
                night=TODAY - next(days) * DAY,
                lowest_c=low,
                called_at=NOON if called else None,
                **over,
            )
    a_night(world.site, night=TODAY - 31 * DAY, lowest_c=-9.0, **over)
    assert "3 right, 2 for nothing, 1 killing night not called" in text()


@pytest.mark.parametrize(
    ("low", "mark", "action", "unknown"),
    [
        (-1.0, "done", "cover", 0),
        (-1.0, "", "cover", 1),
        (-1.0, "", "leave", 0),
        (None, "done", "cover", 1),
        (-1.0, "not_done", "bring_in", 0),
    ],
)
def test_called_nights_of_which_something_is_unknown(
    world: World, low: float | None, mark: str, action: str, unknown: int
) -> None:
    night = a_night(world.site, night=TODAY - DAY, state="over", lowest_c=low, called_at=NOON - DAY)
    a_bed(night, world.bed, action=action, mark=mark)
    assert health_of(world.garden, today=TODAY, now=NOON).unknown == unknown


def told_of(world: World, task: Task, stage: str, kind: str) -> None:
    message = a_sent(world, task.pk, kind=kind, channel="inbox")
    MessageItem.objects.create(
        message=message, task=task, person=message.person, channel="inbox", stage=stage
    )


@pytest.mark.parametrize(
    ("acted", "number", "demote"), [(4, 10, True), (5, 10, False), (4, 9, False), (0, 10, True)]
)
def test_a_kind_that_nobody_acts_on_is_proposed_for_the_week(
    world: World, text: Callable[[], str], acted: int, number: int, demote: bool
) -> None:
    for count in range(number):
        done = {"state": "done"} if count < acted else {"latest": TODAY - DAY}
        task = a_task(a_plant(world.member, world.bed), "lift", **done)
        told_of(world, task, "opened", "due")
    # Neither settled, nor told in the month.
    told_of(world, a_task(world.plant, "lift"), "opened", "due")
    a_task(world.plant, "cut_back", state="done")
    health = health_of(world.garden, today=TODAY, now=NOON)
    assert health.acted_on[1] == ActedOn(Message.Kind.DUE, number, acted)
    words = "Under half was acted on: what is due."
    page = text()
    assert (words in page) is demote
    assert f"<dd>what is due {acted} of {number}</dd>" in page


def test_an_offer_is_acted_on_by_taking_it(world: World) -> None:
    past = {"best": date(2026, 10, 5), "latest": date(2026, 10, 9)}
    taken = a_task(world.plant, "lift", **past, assignee=world.member.person)
    other = a_task(world.plant, "cut_back", **past, assignee=world.owner.person)
    done = a_task(world.plant, "pest_check", **past, state="done")
    left = a_task(world.plant, "backup", **past)
    for task in (taken, other, done, left):
        told_of(world, task, "offered", "handed")
    health = health_of(world.garden, today=TODAY, now=NOON)
    assert health.acted_on[2] == ActedOn(Message.Kind.HANDED, 4, 2)


def test_stopped_e_mails_are_counted_by_kind(world: World, text: Callable[[], str]) -> None:
    choose(world.member.person, "week", "email", wanted=False)
    choose(world.owner.person, "week", "push", wanted=False)
    choose(world.outsider, "week", "email", wanted=False)
    assert "<dt>Members who stopped e-mail</dt><dd>the week ahead 1</dd>" in text()


def test_the_queries_do_not_grow(world: World, text: Callable[[], str]) -> None:
    a_night(world.site)

    def queries(number: int) -> int:
        for _ in range(number):
            member = MembershipFactory(garden=world.garden)
            past = {"best": date(2026, 10, 5), "latest": date(2026, 10, 9)}
            a_task(a_plant(member, world.bed), "lift", **past)
            a_task(a_plant(member, world.bed, holder=None), "cut_back")
            a_sent(world, number, person=member.person)
        with CaptureQueriesContext(connection) as found:
            text()
        return len(found)

    assert queries(2) == queries(12)


def test_a_promoted_task_says_so_where_it_stands(world: World, as_person: SignIn) -> None:
    why = "the night of {2026-10-15} may fall to {0.00 C} or below (7 in 10)."
    task = a_task(world.plant, "lift", promoted_on=TODAY, promoted_why=why)
    client = as_person(world.member)
    shown = client.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert (
        "The forecast closes this window: the night of 15 October may fall to 0 °C or below "
        "(7 in 10)." in shown
    )
    assert "before the first night of 0 °C or colder" in shown
    for address in (world.address, f"{world.address}tasks"):
        today = client.get(address).content.decode()
        assert "due now, by 20 October; the forecast closes this window" in today
    Task.objects.update(promoted_on=None, kind="cut_back")
    shown = client.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert "closes this window" not in shown
    assert "before the first night" not in shown
