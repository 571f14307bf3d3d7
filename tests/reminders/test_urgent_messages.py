"""Every urgent message says all that a warning must say, and fits, whatever the names.

Source, hazard, place, time, guidance and impact: what warnings need by the syntheses that the
project's notes name; a chance beside them; 360 characters, and 160 of GSM-7 in the short form.
"""

from collections.abc import Iterator

import pytest
from django.test import override_settings

from lifecycle.models import (
    Ask,
    FrostBed,
    FrostNight,
    Message,
)
from lifecycle.records.nights.asks import ask_path
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.messages.fitting import GSM7
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.reminders.frost_nights import BEGIN, MINUTE, clock
from tests.reminders.urgent import mail, ready, written

pytestmark = pytest.mark.django_db


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


def test_who_was_told_nothing_reads_of_no_change(world: World) -> None:
    ready(world)
    late = clock(23, 30)
    ask_all(now=late)
    composed = written(mail("frost_update", "Fay"), late)
    assert composed.subject == (
        "Northfield, Canal bank: frost tonight, called late, 30 °F by 05:00"
    )
    assert "frost tonight, called late, Wed 14 Oct" in core_of(composed)
    assert "frost tonight, called late, 30F" in composed.short
    assert "colder" not in " ".join(line.text for line in composed.lines)


def test_called_again_is_said_also_to_who_had_not_answered(world: World) -> None:
    ready(world)
    ask_all(now=BEGIN)
    said = "It was called off, and is called again."
    assert said not in [line.text for line in written(mail("frost_ask", "Ana")).lines]
    for state in ("cancelled", "called"):
        FrostNight.objects.update(state=state)
        ask_all(now=BEGIN + MINUTE)
    again = Message.objects.filter(about="frost_ask", channel="email", person__name="Ana").last()
    assert again is not None
    assert said in [line.text for line in written(again).lines]


def test_the_coordinator_reads_that_the_forecast_is_old(world: World) -> None:
    ready(world, state="possible", stale=True)
    ask_all(now=BEGIN)
    message = mail("frost_old_data", "Coordinator")
    composed = written(message)
    assert composed.subject == "Northfield, Canal bank: old forecast, nobody is asked tonight"
    text = " ".join(line.text for line in composed.lines)
    for part in ("Forecast of 13:10", "likely −1 °C by 05:00", "yourself", "“Ask the rota now”"):
        assert part in text, part
    for judged in ({"ask_from": BEGIN}, {"ask_from": None, "stale": False}, {"state": "called"}):
        FrostNight.objects.update(**{"stale": True, **judged})
        assert COMPOSERS["frost_old_data"](message, BEGIN) is None


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
