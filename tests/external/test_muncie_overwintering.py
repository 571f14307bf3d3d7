"""E. Vidal, Bring in your peppers for winter, The Star Press (Muncie), 2014; read second hand.

A room of 50 to 60 F and never below 50; watered two to three times a month at rest; a 2 inch stump
at potting; woken about a month before the last frost.
"""

from dataclasses import replace
from datetime import date

import pytest

from lifecycle.care.plan import plan
from lifecycle.care.policy import policy_of
from lifecycle.care.quarters import Room, resting_room
from lifecycle.care.steps import Step
from lifecycle.handbook import SOURCES
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.life.facts import fact, life_of


@pytest.mark.parametrize(
    ("room_f", "answer"),
    [(47, Room.COLD), (49, Room.COLD), (50, Room.RIGHT), (55, Room.RIGHT), (60, Room.RIGHT)],
)
def test_the_room(room_f: int, answer: Room) -> None:
    assert resting_room((room_f - 32) / 1.8).answer is answer


def test_at_47_f_the_alarm_is_below_50() -> None:
    assert resting_room((47 - 32) / 1.8).reason == (
        "The room has {8.33 C}, below {10.00 C}: move it somewhere warmer today."
    )


RESTING = [
    fact(Kind.INHERITED, date(2025, 10, 1), inside=True, quantity=1, choice="resting"),
    fact(Kind.WATERED, date(2026, 1, 1)),
]


def chosen(facts: list[Fact], today: date, **choices: str) -> dict[str, Step]:
    """The next step of each kind at a site that made these choices."""
    dates = replace(typed_site(), policy=policy_of(choices))
    found: dict[str, Step] = {}
    for step in plan(life_of(facts), "annuum", dates, today):
        found.setdefault(step.kind, step)
    return found


def test_watered_on_1_january_the_next_is_11_to_16_january_by_this_setting() -> None:
    water = chosen(RESTING, date(2026, 1, 2), winter_water="two_weeks")["winter_water"]
    assert date(2026, 1, 11) <= water.window.earliest <= water.window.best
    assert water.window.latest <= date(2026, 1, 16)
    assert water.source == SOURCES["muncie"]


def test_by_the_other_setting_it_is_allowed_by_16_january_too() -> None:
    water = chosen(RESTING, date(2026, 1, 2))["winter_water"]
    assert date(2026, 1, 11) <= water.window.earliest <= date(2026, 1, 16)


def test_woken_a_month_before_the_last_frost_by_this_setting() -> None:
    wake = chosen(RESTING, date(2026, 1, 2), wake_anchor="last_frost")["wake"]
    assert wake.window.best == date(2026, 3, 21)  # the last frost is on 20 April here
    assert "A month before the last frost, here {2026-04-20}" in wake.reason
    assert "one to two months before planting out, here best on {2026-05-25}" in wake.reason


def test_a_stump_at_potting_by_these_settings() -> None:
    lifted = [
        fact(Kind.RAISED, date(2025, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, date(2025, 5, 25), inside=False),
        fact(Kind.LIFTED, date(2025, 9, 27)),
    ]
    settings = {"cut_height": "stump2", "cut_time": "at_potting"}
    cut = chosen(lifted, date(2025, 9, 27), **settings)["cut_back"]
    assert cut.window.best == date(2025, 9, 27)
    assert "At potting, cut to a stump of {5.1 cm}" in cut.reason
    assert (cut.source, cut.waits_for) == (SOURCES["muncie"], "")
