"""E. Vidal, Bring in your peppers for winter, The Star Press (Muncie), 2014; read second hand.

A room of 50 to 60 F and never below 50; watered two to three times a month at rest.
"""

from datetime import date

import pytest

from lifecycle.care.plan import plan
from lifecycle.care.quarters import Room, resting_room
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.life.facts import fact, life_of


@pytest.mark.parametrize(
    ("room_f", "answer"),
    [(47, Room.COLD), (49, Room.COLD), (50, Room.RIGHT), (55, Room.RIGHT), (60, Room.RIGHT)],
)
def test_the_room(room_f: int, answer: Room) -> None:
    assert resting_room((room_f - 32) / 1.8).answer is answer


def test_watered_on_1_january_the_earliest_next_is_11_to_16_january() -> None:
    facts = [
        fact(Kind.INHERITED, date(2025, 10, 1), inside=True, quantity=1, choice="resting"),
        fact(Kind.WATERED, date(2026, 1, 1)),
    ]
    steps = plan(life_of(facts), "annuum", typed_site(), date(2026, 1, 2))
    water = next(step for step in steps if step.kind == "winter_water")
    assert date(2026, 1, 11) <= water.window.earliest <= date(2026, 1, 16)
