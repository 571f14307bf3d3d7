"""K. Murphy, Overwintering peppers, Bucks County Master Gardeners (Penn State), 2016.

Wake one to two months before planting out; at rest water about every three weeks; about
55 F with a little light for rest, 60 to 70 F to grow on; cut to about four inches,
leaving a Y, after the leaves have dropped.
"""

from datetime import date, timedelta

import pytest

from lifecycle.care.plan import plan
from lifecycle.care.quarters import Room, growing_room, resting_room
from lifecycle.care.seasons import waking
from lifecycle.care.steps import Window
from lifecycle.handbook import SOURCES, fact
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.life.facts import fact as entry
from tests.life.facts import life_of


def near(day: date, expected: date, days: int) -> bool:
    return abs(day - expected) <= timedelta(days)


def test_planting_out_on_25_may_wakes_from_26_march_to_25_april() -> None:
    out = date(2026, 5, 25)
    window = waking(Window(out - timedelta(14), out, out + timedelta(21)))
    assert near(window.earliest, date(2026, 3, 26), 3)
    assert near(window.latest, date(2026, 4, 25), 3)


def test_watered_on_1_january_it_is_looked_at_on_22_january() -> None:
    facts = [
        entry(Kind.INHERITED, date(2025, 10, 1), inside=True, quantity=1, choice="resting"),
        entry(Kind.WATERED, date(2026, 1, 1)),
    ]
    steps = plan(life_of(facts), "annuum", typed_site(), date(2026, 1, 2))
    water = next(step for step in steps if step.kind == "winter_water")
    assert near(water.window.best, date(2026, 1, 22), 1)
    assert water.source == SOURCES["bucks"]


@pytest.mark.parametrize(("room_f", "answer"), [(55, Room.RIGHT), (66, Room.WARM)])
def test_the_room(room_f: int, answer: Room) -> None:
    assert resting_room((room_f - 32) / 1.8).answer is answer


def test_at_66_f_it_is_not_at_rest_and_wants_light_and_more_water() -> None:
    warm = (66 - 32) / 1.8
    assert "it will not rest there; give light and more water" in resting_room(warm).reason
    # That is the room in which it grows on.
    assert growing_room(warm, waking=False).answer is Room.RIGHT


@pytest.mark.parametrize(
    ("room_f", "answer"),
    [(49, Room.COLD), (59, Room.COOL), (60, Room.RIGHT), (70, Room.RIGHT), (71, Room.WARM)],
)
def test_to_grow_on_it_wants_60_to_70_f_and_never_below_50(room_f: int, answer: Room) -> None:
    assert growing_room((room_f - 32) / 1.8, waking=False).answer is answer


def test_the_cut_leaves_four_inches_and_a_y_once_the_leaves_have_dropped() -> None:
    assert fact("cut_back.rest_height").si == pytest.approx(10.16)
    lifted = [
        entry(Kind.RAISED, date(2025, 4, 10), inside=True, quantity=1),
        entry(Kind.PLANTED_OUT, date(2025, 5, 25), inside=False),
        entry(Kind.LIFTED, date(2025, 9, 27)),
    ]
    steps = plan(life_of(lifted), "annuum", typed_site(), date(2025, 9, 27))
    cut = next(step for step in steps if step.kind == "cut_back")
    assert cut.window.earliest > date(2025, 9, 27)
    assert "about {10.2 cm}, leaving a Y" in cut.reason
    assert cut.waits_for == "winter_quarters"
