"""Every urgent message says all that a warning must say, and fits, whatever the names.

Source, hazard, place, time, guidance and impact: what warnings need by the syntheses that the
project's notes name; a chance beside them; 360 characters, and 160 of GSM-7 in the short form.
"""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.test import override_settings
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.models import (
    Ask,
    FrostBed,
    FrostNight,
    Message,
    NightForecast,
    OnCallTurn,
    Person,
)
from lifecycle.records.asks import ask_path
from lifecycle.reminders.all_composers import COMPOSERS
from lifecycle.reminders.asking import ask_all
from lifecycle.reminders.composing import Composed
from lifecycle.reminders.fitting import GSM7, first_that_fits, gsm7, shortened
from tests.conftest import World
from tests.factories import PlaceFactory
from tests.reminders.frost_nights import BEGIN, MINUTE, NIGHT, a_bed, a_night, clock, on_call

pytestmark = pytest.mark.django_db
LONG_GARDEN = "Northfield and Saint Bartholomew Community Allotment Society"
LONG_SITE = "Behind the old waterworks pumping station by the canal towpath near the third bridge"[
    :80
]
LONG_BEDS = [
    f"{number}. long raised bed beside the southern red brick wall, upper" for number in (1, 2)
]


def ready(world: World, *, long: bool = False, **more: object) -> FrostNight:
    """A called night with a forecast, covers and two people on call, one in Fahrenheit."""
    if long:
        world.garden.name, world.site.name = LONG_GARDEN, LONG_SITE
        world.garden.save()
        world.site.save()
    on_call(world.site, ["Ana"])
    on_call(world.site, ["Fay"], first=2, wakes=True)
    Person.objects.filter(name="Fay").update(temperature="F")
    forecast = NightForecast.objects.create(
        garden=world.garden,
        site=world.site,
        source="gridpoint",
        issued_at=clock(13, 10),
        received_at=clock(13, 15),
        night=NIGHT,
        low_c=-1.0,
    )
    night = a_night(world.site, forecast=forecast, **more)
    a_bed(night, world.bed, protection="cover_heavy", pieces=6)
    for name in LONG_BEDS if long else ():
        a_bed(night, PlaceFactory(site=world.site, name=name))
    return night


def mail(about: str, name: str) -> Message:
    return Message.objects.get(about=about, channel="email", person__name=name)


def written(message: Message, now: object = BEGIN) -> Composed:
    composed = COMPOSERS[message.about](message, now)
    assert composed is not None
    return composed


def core_of(composed: Composed) -> str:
    return next(line.text for line in composed.lines if "needed," in line.text)


@pytest.fixture(params=[False, True], ids=["short names", "longest names"])
def night(request: pytest.FixtureRequest, world: World) -> Iterator[FrostNight]:
    with override_settings(SITE_URL="https://record.community-gardens.example.org"):
        yield ready(world, long=request.param)


@pytest.mark.parametrize(("name", "low"), [("Ana", "−1 °C"), ("Fay", "30 °F")])
def test_an_ask_says_everything_in_360_characters(night: FrostNight, name: str, low: str) -> None:
    ask_all(now=BEGIN)
    composed = written(mail("frost_ask", name))
    text = core_of(composed)
    address = ask_path(Ask.objects.get(person__name=name))
    assert len(text) <= 360
    assert text.startswith(night.garden.name.split()[0])
    limit = "32 °F" if name == "Fay" else "0 °C"
    for part in (
        *("frost tonight", "Wed 14 Oct", f"likely {low} by 05:00", f"{limit} or below 7 in 10"),
        *("die.", "Cover ", "by 17:35", "(sunset 18:05)", "2 people needed, none so far"),
        *("Yes or no: https://record.community-gardens.example.org" + address, "Forecast of 13:10"),
    ):
        assert part in text, part
    assert "Bed 3" in text or "places" in text
    assert "!" not in text + composed.subject + composed.short
    assert composed.url.endswith(address)


def test_the_short_form_fits_a_small_screen(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    for name, low in (("Ana", "-1C"), ("Fay", "30F")):
        short = written(mail("frost_ask", name)).short
        assert len(short) <= 160
        assert set(short) <= GSM7
        for part in (
            "frost tonight",
            f"{low} by 05:00",
            "7 in 10",
            "Cover ",
            "by 17:35",
            "2 people",
        ):
            assert part in short, (part, short)


def test_the_subject_alone_says_where_what_and_by_when(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    subject = written(mail("frost_ask", "Ana")).subject
    assert len(subject) <= 120
    assert subject.startswith("Northfield")
    assert "frost tonight" in subject
    assert "by 17:35" in subject


def test_a_waking_message_says_everything_and_what_is_new(night: FrostNight) -> None:
    FrostNight.objects.update(told_c=1.0, expected_c=-2.5)
    FrostBed.objects.update(told_action="leave")
    Message.objects.all().delete()
    late = clock(23)
    ask_all(now=late)
    composed = written(mail("frost_update", "Fay"), late)
    text = core_of(composed)
    assert len(text) <= 360
    for part in (
        *("frost tonight, colder than told", "likely 28 °F by 05:00", "now, before 05:00"),
        *(
            "32 °F or below 7 in 10",
            "die.",
            "2 people needed",
            "Yes or no: https://",
            "Forecast of",
        ),
    ):
        assert part in text, part
    assert len(composed.short) <= 160
    assert "colder than told" in composed.short
    assert any("allowed it on the rota" in line.text for line in composed.lines)


def test_details_follow_the_paragraph(world: World) -> None:
    ready(world)
    ask_all(now=BEGIN)
    lines = [line.text for line in written(mail("frost_ask", "Ana")).lines]
    assert "Take: 6 of Heavy frost cloth." in lines
    assert "Still air: covers work." in lines
    assert "Where: Northfield, Canal bank, Bed 3." in lines
    assert "A no helps too: the next person is asked at once." in lines


def test_old_data_is_said(world: World) -> None:
    ready(world, stale=True)
    ask_all(now=BEGIN)
    lines = [line.text for line in written(mail("frost_ask", "Ana")).lines]
    assert "Forecast older than 6 hours: look at the sky as well." in lines


@pytest.mark.parametrize("state", ["accepted", "declined", "passed_on", "called_off"])
def test_an_answered_ask_is_not_sent(world: World, state: str) -> None:
    ready(world)
    ask_all(now=BEGIN)
    Ask.objects.update(state=state)
    assert COMPOSERS["frost_ask"](mail("frost_ask", "Ana"), BEGIN) is None


@pytest.mark.parametrize(
    "judged", [{"state": "cancelled"}, {"state": "not_needed"}, {"low_at": BEGIN}]
)
def test_an_ask_that_came_to_nothing_is_not_sent(world: World, judged: dict[str, object]) -> None:
    ready(world)
    ask_all(now=BEGIN)
    FrostNight.objects.update(**judged)
    now = clock(18, 5) if "low_at" in judged else BEGIN
    assert COMPOSERS["frost_ask"](mail("frost_ask", "Ana"), now) is None


@pytest.mark.parametrize("judged", [{"stale": True}, {"kill_chance": 0.01}, {"state": "cancelled"}])
def test_a_waking_message_is_looked_at_again_when_it_goes(
    world: World, judged: dict[str, object]
) -> None:
    ready(world)
    late = clock(23)
    ask_all(now=late)
    message = mail("frost_update", "Fay")
    assert COMPOSERS["frost_update"](message, late) is not None
    FrostNight.objects.update(**judged)
    assert COMPOSERS["frost_update"](message, late) is None


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
    ("air_c", "said"),
    [
        (None, "Nobody measured the air: this comes by the clock. Uncover once it is above 2 °C."),
        (3.0, "The site’s thermometer read 3 °C at 09:20."),
        (0.5, "The site’s thermometer read 0.5 °C at 09:20: uncover as soon as it is above 2 °C."),
    ],
)
def test_uncover_says_how_the_air_is_known(world: World, air_c: float | None, said: str) -> None:
    night = ready(world)
    night.beds.update(mark="done", marked_by=world.member.person)
    now = clock(9, 30, NIGHT + timedelta(1))
    if air_c is not None:
        world.site.air_readings.create(
            garden=world.garden, at=now - timedelta(minutes=10), air_c=air_c
        )
    ask_all(now=now)
    message = mail("frost_uncover", "Member")
    lines = [line.text for line in written(message, now).lines]
    assert said in lines
    assert "Take the covers off: Bed 3." in lines
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


# --- words that fit --------------------------------------------------------------------------


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
