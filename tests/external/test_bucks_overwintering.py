"""K. Murphy, Overwintering peppers, Bucks County Master Gardeners (Penn State), 2016.

Wake one to two months before planting out; at rest water about every three weeks; about
55 F with a little light for rest, 60 to 70 F to grow on; cut to about four inches.
"""

from datetime import date, timedelta

import pytest

from lifecycle.care.plan import plan
from lifecycle.care.quarters import Room, resting_room
from lifecycle.care.seasons import waking
from lifecycle.care.steps import Window
from lifecycle.handbook import fact
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


@pytest.mark.parametrize(("room_f", "answer"), [(55, Room.RIGHT), (66, Room.WARM)])
def test_the_room(room_f: int, answer: Room) -> None:
    # At 66 F it does not rest: that is the room in which it grows on.
    assert resting_room((room_f - 32) / 1.8).answer is answer


def test_the_cut_leaves_four_inches() -> None:
    assert fact("cut_back.rest_height").si == pytest.approx(10.16)
