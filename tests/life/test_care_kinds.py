"""What care leaves behind in a life: doubts, varieties, choices, and what each kind may carry."""

from datetime import date

import pytest

from lifecycle.life.fold import in_order
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import Phase
from tests.life.facts import fact, life_of, standing

JUNE, JULY, AUGUST = date(2026, 6, 1), date(2026, 7, 1), date(2026, 8, 1)
PLANT = standing(Phase.BEARING, inside=False)


def test_a_doubt_stands_until_it_is_settled() -> None:
    doubt = fact(Kind.IN_DOUBT, JUNE, choice="faded")
    assert life_of([*PLANT, doubt]).in_doubt
    settled = fact(Kind.SETTLED, JULY, choice="fruit")
    assert not life_of([*PLANT, doubt, settled]).in_doubt
    again = fact(Kind.IN_DOUBT, AUGUST, choice="lost")
    assert life_of([*PLANT, doubt, settled, again]).in_doubt


def test_the_label_stands_until_a_variety_is_settled() -> None:
    assert life_of(PLANT).variety is None
    found = fact(Kind.SETTLED, JUNE, choice="fruit", variety=7)
    sure = fact(Kind.SETTLED, JULY, choice="leaf")
    assert life_of([*PLANT, found]).variety == 7
    assert life_of([*PLANT, found, sure]).variety == 7
    other = fact(Kind.SETTLED, AUGUST, choice="fruit", variety=8)
    assert life_of([*PLANT, found, sure, other]).variety == 8


def test_the_last_choice_of_a_kind_is_remembered() -> None:
    cage = fact(Kind.STAKED, JUNE, choice="cage")
    stout = fact(Kind.STAKED, JULY, choice="stout")
    clean = fact(Kind.PEST_CHECK, JUNE, choice="clean")
    life = life_of(in_order([*PLANT, cage, stout, clean]))
    assert life.last_choice[Kind.STAKED] == "stout"
    assert life.last_choice[Kind.PEST_CHECK] == "clean"
    assert Kind.TIED not in life_of([*PLANT, fact(Kind.TIED, JUNE)]).last_choice


@pytest.mark.parametrize(
    ("kind", "choices"),
    [
        (Kind.STAKED, {"stake", "stout", "cage", "string"}),
        (Kind.IN_DOUBT, {"faded", "lost", "swapped"}),
        (Kind.SETTLED, {"fruit", "flower", "leaf", "papers"}),
        (Kind.LOOKED_OVER, {"sound", "torn", "bad"}),
    ],
)
def test_what_may_be_chosen(kind: Kind, choices: set[str]) -> None:
    assert set(RULES[kind].choices) == choices
    assert RULES[kind].choice_label


@pytest.mark.parametrize("kind", [Kind.IN_DOUBT, Kind.SETTLED, Kind.SEED_TESTED])
def test_what_is_never_logged_alone(kind: Kind) -> None:
    assert not RULES[kind].by_hand


def test_a_seed_test_gives_a_share_of_what_was_laid_out() -> None:
    wanted = RULES[Kind.SEED_TESTED].quantity
    assert wanted is not None
    assert (wanted.unit, wanted.low, wanted.high, wanted.required) == ("%", 0, 100, True)
    planned = [fact(Kind.PLANNED, JUNE), fact(Kind.SEED_TESTED, JULY, quantity=80)]
    life = life_of(planned, "sowing")
    assert (life.phase, life.last_on[Kind.SEED_TESTED]) == (Phase.PLANNED, JULY)
