"""How a winter begins and ends for a plant, entry by entry."""

from copy import deepcopy
from datetime import date

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from lifecycle.life.wintering import Outcome, winterings
from tests.life.facts import diary, fact

TAKEN = (Kind.INHERITED, 6, 1, {"year": 2025, "inside": False, "choice": "bearing"})


def quarters(choice: str = "resting", month: int = 11, **more):
    return (
        Kind.WINTER_QUARTERS,
        month,
        10,
        {"year": 2025, "inside": True, "choice": choice, **more},
    )


def read(*rows: tuple):
    # A diary uses its rows up.
    facts = diary(*deepcopy(rows))
    return [(winter.route, winter.outcome, winter.ended_on) for winter in winterings(facts)]


@pytest.mark.parametrize(
    ("ending", "outcome"),
    [
        ((Kind.FIRST_GROWTH, 3, 20), Outcome.LIVED),
        ((Kind.HARDENING, 3, 20), Outcome.LIVED),
        ((Kind.PLANTED_OUT, 3, 20, {"inside": False}), Outcome.LIVED),
        ((Kind.FIRST_FLOWER, 3, 20), Outcome.LIVED),
        ((Kind.ENDED, 3, 20, {"choice": "died"}), Outcome.DIED),
        ((Kind.ENDED, 3, 20, {"choice": "removed"}), Outcome.LET_GO),
        ((Kind.ENDED, 3, 20, {"choice": "given_away"}), Outcome.LET_GO),
    ],
)
def test_a_rest_under_a_roof_ends(ending: tuple, outcome: Outcome) -> None:
    assert read(TAKEN, quarters(), ending) == [(Route.RESTING, outcome, date(2026, 3, 20))]


def test_waking_and_watering_prove_nothing() -> None:
    rows = (TAKEN, quarters(), (Kind.WOKEN, 2, 20), (Kind.MOVED, 2, 21, {"inside": True}))
    assert read(*rows) == [(Route.RESTING, None, None)]


def test_what_grows_on_indoors_has_not_come_through_by_fruit_or_shoots() -> None:
    rows = (
        *(TAKEN, quarters("growing_on")),
        (Kind.PICKED, 12, 20, {"year": 2025}),
        (Kind.FIRST_GROWTH, 1, 10),
    )
    assert read(*rows) == [(Route.GROWING_ON, None, None)]
    hardened = (*rows, (Kind.HARDENING, 4, 20))
    assert read(*hardened) == [(Route.GROWING_ON, Outcome.LIVED, date(2026, 4, 20))]
    carried = (*rows, (Kind.MOVED, 4, 21, {"inside": False}))
    assert read(*carried) == [(Route.GROWING_ON, Outcome.LIVED, date(2026, 4, 21))]


def test_a_rest_where_it_stands_ends_with_growth_or_fruit() -> None:
    rest = (Kind.GONE_TO_REST, 11, 20, {"year": 2025})
    expected = [(Route.IN_GROUND, Outcome.LIVED, date(2026, 4, 5))]
    assert read(TAKEN, rest, (Kind.FIRST_GROWTH, 4, 5)) == expected
    assert read(TAKEN, rest, (Kind.PICKED, 4, 5)) == expected


@pytest.mark.parametrize(("picked", "lived"), [(date(2026, 2, 8), False), (date(2026, 2, 9), True)])
def test_kept_in_the_ground_without_a_rest_fruit_counts_once_autumn_is_past(
    picked: date, lived: bool
) -> None:
    # 10 November and ninety days are 8 February.
    facts = [
        *diary(deepcopy(TAKEN), (Kind.REVIEWED, 11, 10, {"year": 2025, "choice": "in_ground"})),
        fact(Kind.PICKED, picked),
    ]
    [winter] = winterings(facts)
    assert (winter.outcome is Outcome.LIVED) is lived
    assert winter.route is Route.IN_GROUND


def test_a_decision_is_overruled_by_where_the_plant_then_goes() -> None:
    decided = (Kind.REVIEWED, 10, 10, {"year": 2025, "choice": "in_ground"})
    rows = (TAKEN, decided, quarters(), (Kind.PICKED, 1, 5))
    assert read(*rows) == [(Route.RESTING, Outcome.LIVED, date(2026, 1, 5))]
    other = (Kind.REVIEWED, 10, 10, {"year": 2025, "choice": "resting"})
    assert read(TAKEN, other) == []


def test_every_winter_counts_by_itself() -> None:
    rows = (
        *(TAKEN, quarters(), (Kind.FIRST_GROWTH, 3, 20)),
        (Kind.PLANTED_OUT, 5, 20, {"inside": False}),
        (Kind.WINTER_QUARTERS, 11, 9, {"inside": True, "choice": "growing_on"}),
    )
    assert read(*rows) == [
        (Route.RESTING, Outcome.LIVED, date(2026, 3, 20)),
        (Route.GROWING_ON, None, None),
    ]


def test_the_entry_that_ended_a_winter_is_named() -> None:
    grown = fact(Kind.FIRST_GROWTH, date(2026, 3, 20), pk=4711)
    facts = [*diary(deepcopy(TAKEN), quarters()), grown]
    assert winterings(facts)[0].entry == 4711
