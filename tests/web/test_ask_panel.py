"""What the frost page says of the asks, and to whom it shows telephone numbers."""

from datetime import timedelta

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Ask, FrostNight, Membership, Message
from lifecycle.records.nights.asks import answer, pass_on, place_ask, volunteer
from lifecycle.reminders.nights.asking import ask_all
from lifecycle.web.nights.ask_panel import panel
from tests.conftest import World
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    SUNSET,
    a_night,
    clock,
    on_call,
)

pytestmark = pytest.mark.django_db
NAMES = ["Ana", "Ben", "Cleo", "Dan", "Eve"]


@pytest.fixture
def night(world: World) -> FrostNight:
    on_call(world.site, NAMES)
    return a_night(world.site)


def shown(member: Membership, night: FrostNight, now: object) -> str:
    night.refresh_from_db()
    context = {"asks": panel(member, night, now), "garden": member.garden}
    return " ".join(render_to_string("lifecycle/frost_asks.html", context).split())


def ask_of(name: str) -> Ask:
    return Ask.objects.get(person__name=name)


def test_before_asking_it_says_when_and_whom(world: World, night: FrostNight) -> None:
    text = shown(world.coordinator, night, clock(9))
    assert "2 people needed. Accepted: nobody yet. Next asked at 13:35: Ana, Ben." in text
    assert "Ask the rota now" in text
    assert "I will do it" in text


def test_while_asking_it_says_who_said_what_and_who_is_next(
    world: World, night: FrostNight
) -> None:
    ask_all(now=BEGIN)
    answer(ask_of("Ana"), True, BEGIN + MINUTE)
    text = shown(world.coordinator, night, BEGIN + 2 * MINUTE)
    assert "Accepted: Ana. Next asked at 14:20: Cleo, Dan." in text
    assert "Accepted at 13:36" in text
    assert "Asked at 13:35, no answer yet" in text
    assert "Ask the rota now" not in text


def test_at_the_end_it_is_with_the_coordinator(world: World, night: FrostNight) -> None:
    for minutes in (0, 45):
        ask_all(now=BEGIN + minutes * MINUTE)
    text = shown(world.coordinator, night, BEGIN + 46 * MINUTE)
    assert "At 15:05 the coordinator gets the list with telephone numbers." in text
    assert "Asked at 13:35, no answer</span>" in text
    ask_all(now=BEGIN + 90 * MINUTE)
    text = shown(world.coordinator, night, BEGIN + 91 * MINUTE)
    assert "The coordinator has the list and is asked to phone." in text


@pytest.mark.parametrize("state", ["accepted", "enough"])
def test_when_enough_come_nobody_is_next(world: World, night: FrostNight, state: str) -> None:
    ask_all(now=BEGIN)
    Ask.objects.update(state="accepted", answered_at=BEGIN)
    text = shown(world.coordinator, night, BEGIN + MINUTE)
    assert "Accepted: Ana, Ben." in text
    assert "Next asked" not in text


def test_who_is_asked_elsewhere_is_named(world: World, night: FrostNight) -> None:
    Message.objects.create(
        garden=world.garden,
        person=night.site.on_call.get(person__name="Ana").person,
        key="elsewhere:email",
        channel="email",
        level="act_today",
        state="sent",
        sent_at=clock(9),
        not_before=clock(9),
        expires_at=clock(21),
        made_at=clock(9),
        for_day=NIGHT,
    )
    text = shown(world.coordinator, night, clock(10))
    assert "Next asked at 13:35: Ben, Cleo. Already asked elsewhere today: Ana." in text


def test_only_coordinators_see_numbers(world: World, night: FrostNight) -> None:
    for role, sees in (
        ("coordinator", True),
        ("owner", True),
        ("member", False),
        ("committee", False),
    ):
        text = shown(getattr(world, role), night, clock(9))
        assert ("600 001" in text) is sees, role
        assert ("Ana" in text) is True
    text = shown(world.coordinator, night, clock(9))
    assert text.index("600 001") < text.index("Member: no number given")
    assert "Committee" not in text
    assert "Outsider" not in text


def test_after_the_night_no_numbers_are_shown(world: World, night: FrostNight) -> None:
    assert "600 001" not in shown(world.coordinator, night, clock(7, day=NIGHT + timedelta(1)))


@pytest.mark.parametrize(
    ("role", "ask", "volunteer"),
    [
        ("coordinator", True, True),
        ("owner", True, True),
        ("member", False, True),
        ("committee", False, False),
    ],
)
def test_buttons_by_role(
    world: World, night: FrostNight, role: str, ask: bool, volunteer: bool
) -> None:
    text = shown(getattr(world, role), night, clock(9))
    assert ("Ask the rota now" in text) is ask
    assert ("I will do it" in text) is volunteer


@pytest.mark.parametrize("now", [clock(6, 59), clock(21)])
def test_in_quiet_hours_nobody_can_be_asked(world: World, night: FrostNight, now: object) -> None:
    assert "Ask the rota now" not in shown(world.coordinator, night, now)


@pytest.mark.parametrize("state", ["quiet", "cancelled", "not_needed", "over"])
def test_what_is_off_offers_nothing(world: World, state: str) -> None:
    text = shown(world.coordinator, a_night(world.site, state=state), clock(9))
    assert "<button" not in text


def test_who_was_asked_answers_here(world: World, night: FrostNight) -> None:
    ask_all(now=BEGIN)
    ana = Membership.objects.get(person__name="Ana")
    text = shown(ana, night, BEGIN + MINUTE)
    assert "Yes, I will come" in text
    assert "No, I cannot" in text
    assert "Pass it on" in text
    assert "I will do it" not in text
    answer(ask_of("Ana"), True, BEGIN + MINUTE)
    text = shown(ana, night, BEGIN + 2 * MINUTE)
    assert "You said yes. Thank you." in text
    assert "Yes, I will come" not in text


def test_volunteers_and_those_passed_to_are_said(world: World, night: FrostNight) -> None:
    volunteer(world.member, night, clock(9))
    ask_all(now=BEGIN)
    eve = night.site.on_call.get(person__name="Eve").person
    pass_on(ask_of("Ana"), eve, BEGIN + MINUTE)
    text = shown(world.coordinator, night, BEGIN + MINUTE)
    assert "Accepted at 09:00, without being asked" in text
    assert "Passed it on to Eve at 13:36" in text


def test_with_no_time_left_the_coordinator_has_it(world: World, night: FrostNight) -> None:
    now = SUNSET - 60 * MINUTE
    ask_all(now=now)
    text = shown(world.coordinator, night, now + MINUTE)
    assert "The coordinator has the list" in text


def test_it_costs_the_same_for_few_and_many(world: World, night: FrostNight) -> None:
    ask_all(now=BEGIN)
    night.refresh_from_db()

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            panel(world.coordinator, night, BEGIN + MINUTE)
        return len(caught)

    queries()
    few = queries()
    for member in on_call(world.site, [f"Person {n}" for n in range(20)], first=6):
        place_ask(night, member.person, rung=1, answer_by=SUNSET, now=BEGIN)
    assert queries() == few <= 5
