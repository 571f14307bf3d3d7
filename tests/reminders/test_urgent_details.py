"""What follows the paragraph of an urgent message, and the messages around it."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.test import override_settings
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.care.frost_limits import FROST_C
from lifecycle.models import (
    Ask,
    FrostNight,
    Message,
    OnCallTurn,
    Person,
)
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.fitting import GSM7, first_that_fits, gsm7, shortened
from lifecycle.reminders.nights.asking import ask_all
from lifecycle.reminders.nights.frost_facts import frost_facts
from lifecycle.web.nights.frost_night import Hour, heading
from tests.conftest import World
from tests.reminders.frost_nights import BEGIN, MINUTE, NIGHT, clock, on_call
from tests.reminders.urgent import mail, ready, written

pytestmark = pytest.mark.django_db


@pytest.fixture(params=[False, True], ids=["short names", "longest names"])
def night(request: pytest.FixtureRequest, world: World) -> Iterator[FrostNight]:
    with override_settings(SITE_URL="https://record.community-gardens.example.org"):
        yield ready(world, long=request.param)


def test_the_coordinator_reads_who_said_what_with_numbers(world: World) -> None:
    ready(world)
    busy = on_call(world.site, ["Busy"], first=3)[0].person
    Message.objects.create(
        garden=world.garden,
        person=busy,
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
    ask_all(now=BEGIN)
    Ask.objects.filter(person__name="Ana").update(state="accepted", answered_at=BEGIN + MINUTE)
    then = BEGIN + 45 * MINUTE
    ask_all(now=then)
    composed = written(mail("frost_ladder_end", "Coordinator"), then)
    lines = [line.text for line in composed.lines]
    assert composed.subject == "Northfield, Canal bank: 1 of 2 accepted, please phone"
    assert "Ana, 600 001: accepted at 13:36." in lines
    assert "Fay, 600 002: asked at 13:35, no answer." in lines
    assert "Busy, 600 003: already asked elsewhere today." in lines
    Ask.objects.update(state="accepted")
    assert COMPOSERS["frost_ladder_end"](mail("frost_ladder_end", "Coordinator"), then) is None


def test_who_has_no_number_is_named_all_the_same(world: World) -> None:
    ready(world)
    Person.objects.update(phone="")
    now = BEGIN + timedelta(minutes=181)
    ask_all(now=now)
    lines = [line.text for line in written(mail("frost_ladder_end", "Coordinator"), now).lines]
    assert any(line.startswith("Ana, no number given: asked at 16:36") for line in lines)


def test_called_off_says_why(world: World) -> None:
    ready(world)
    ask_all(now=BEGIN)
    FrostNight.objects.update(state="not_needed", dismissed_why="The wind got up")
    ask_all(now=BEGIN + MINUTE)
    message = mail("frost_cancel", "Ana")
    composed = written(message)
    assert composed.subject == "Northfield, Canal bank: called off, no need to come tonight"
    assert "A coordinator says: The wind got up." in [line.text for line in composed.lines]
    FrostNight.objects.update(state="cancelled", dismissed_why="", kill_chance=0.02, expected_c=4)
    told = " ".join(line.text for line in written(message).lines)
    assert "It stays warmer: likely 4 °C" in told
    FrostNight.objects.update(state="called")
    assert COMPOSERS["frost_cancel"](message, BEGIN) is None


@pytest.mark.parametrize(
    ("expected_c", "beds", "bare"),
    [
        (-3.0, "none", True),
        (4.0, "none", True),
        (FROST_C, "leave", True),
        (FROST_C + 0.1, "leave", False),
        (-3.0, "done", True),
        (-3.0, "cover", False),
    ],
)
def test_called_off_in_the_cold_says_that_nothing_tender_is_out(
    world: World, expected_c: float, beds: str, bare: bool
) -> None:
    night = ready(world)
    ask_all(now=BEGIN)
    if beds == "none":
        night.beds.all().delete()
    elif beds == "done":
        night.beds.update(mark="done")
    else:
        night.beds.update(action=beds)
    FrostNight.objects.update(state="cancelled", expected_c=expected_c, kill_chance=0)
    ask_all(now=BEGIN + MINUTE)
    lines = [line.text for line in written(mail("frost_cancel", "Ana")).lines]
    assert ("Nothing tender stands out any more." in lines) is bare
    assert any(line.startswith("It stays warmer") for line in lines) is not bare
    night.refresh_from_db()
    facts = frost_facts(night, world.member.person, BEGIN)
    words = heading(night, facts, world.member, Hour.DAY, [])
    end = "nothing tender is out" if bare else "it stays warmer"
    assert words == f"Called off tonight: {end}"


def test_called_off_says_what_is_covered_already(world: World) -> None:
    night = ready(world)
    ask_all(now=BEGIN)
    night.beds.update(mark="done", action="leave")
    FrostNight.objects.update(state="cancelled")
    ask_all(now=BEGIN + MINUTE)
    message = mail("frost_cancel", "Ana")
    said = "Covered already: Bed 3. Uncover in the morning."
    assert said in [line.text for line in written(message).lines]
    night.beds.update(uncovered_at=BEGIN)
    assert said not in [line.text for line in written(message).lines]


@pytest.mark.parametrize(
    ("air_c", "said"),
    [
        (None, "Nobody measured the air: this comes by the clock. Uncover once it is above 2 °C."),
        (3.0, "The site’s thermometer read 3 °C at 11:20."),
        (0.5, "The site’s thermometer read 0.5 °C at 11:20: uncover as soon as it is above 2 °C."),
    ],
)
def test_uncover_says_how_the_air_is_known(world: World, air_c: float | None, said: str) -> None:
    night = ready(world)
    night.beds.update(mark="done", marked_by=world.member.person)
    now = clock(11, 30, NIGHT + timedelta(1))
    if air_c is not None:
        world.site.air_readings.create(
            garden=world.garden, at=now - timedelta(minutes=10), air_c=air_c
        )
    ask_all(now=now)
    message = mail("frost_uncover", "Member")
    lines = [line.text for line in written(message, now).lines]
    assert said in lines
    assert "Take the covers off: Bed 3." in lines
    known = air_c is not None and air_c > 2
    subject = "uncover this morning" if known else "uncover when above 2 °C"
    assert written(message, now).subject.endswith(subject)
    night.beds.update(uncovered_at=now)
    assert COMPOSERS["frost_uncover"](message, now) is None


def test_the_plan_and_the_gap_name_who_is_on_call(world: World) -> None:
    ready(world, state="possible", night=NIGHT + timedelta(1), sunset_at=None, low_at=None)
    ask_all(now=clock(16))
    plan = " ".join(line.text for line in written(mail("frost_plan", "Ana"), clock(16)).lines)
    assert "2 people needed. On call: Ana, Fay." in plan
    assert "on Thu 15 Oct" in plan
    OnCallTurn.objects.filter(person__name="Fay").delete()
    FrostNight.objects.update(said=[])
    ask_all(now=clock(16, 1))
    gap = Message.objects.get(about="frost_gap")
    assert "frost possible on Thu 15 Oct, Ana on call" in written(gap).subject
    OnCallTurn.objects.all().delete()
    assert "nobody on call" in written(gap).subject
    FrostNight.objects.update(people_needed=0, state="quiet")
    assert COMPOSERS["frost_gap"](gap, BEGIN) is None


def test_a_message_whose_night_is_gone_says_nothing(world: World) -> None:
    ready(world)
    ask_all(now=BEGIN)
    message = mail("frost_ask", "Ana")
    message.data = {"night": 0, "ask": 0}
    assert COMPOSERS["frost_ask"](message, BEGIN) is None
    message.data = {"night": FrostNight.objects.get().pk, "ask": 0}
    assert COMPOSERS["frost_ask"](message, BEGIN) is None


@pytest.mark.parametrize(
    ("name", "most", "short"),
    [
        ("Northfield", 10, "Northfield"),
        ("Northfield garden", 12, "Northfield"),
        ("Bed, wall and gate", 4, "Bed"),
        ("Extraordinarily", 6, "Extra."),
    ],
)
def test_names_are_shortened_by_whole_words(name: str, most: int, short: str) -> None:
    assert shortened(name, most) == short


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("−1 °C – “so”", '-1C - "so"'),
        ("Jardín João’s Łąka", "Jardin Joao's aka"),
        ("Größe é", "Größe é"),
        ("花园", ""),
    ],
)
def test_gsm7_has_only_its_own_characters(text: str, plain: str) -> None:
    assert gsm7(text) == plain


@given(st.text(max_size=80), st.integers(2, 60))
def test_any_name_fits_and_stays_readable(name: str, most: int) -> None:
    assert len(shortened(name, most)) <= max(most, 1)
    assert set(gsm7(name)) <= GSM7


def test_the_fullest_version_that_fits_is_taken() -> None:
    versions = [lambda: "four", lambda: "two", lambda: "one"]
    assert first_that_fits(versions, 4) == "four"
    assert first_that_fits(versions, 3) == "two"
    assert first_that_fits(versions, 1) == "one"
