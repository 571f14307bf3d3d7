"""A frost night in sentences."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.care.frost_night import Action
from lifecycle.care.frost_words import (
    ACTION_WORDS,
    calm_words,
    chance_words,
    impact_words,
    likelihood,
    places_words,
    ratio_words,
    rule_words,
    work_words,
)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (1.0, "more than 19 in 20"),
        (0.951, "more than 19 in 20"),
        (0.95, "9 in 10"),
        (0.7, "7 in 10"),
        (0.151, "2 in 10"),
        (0.149, "1 in 10"),
        (0.1, "1 in 10"),
        (0.083, "1 in 12"),
        (0.065, "1 in 15"),
        (0.05, "1 in 20"),
        (0.034, "1 in 30"),
        (0.02, "1 in 50"),
        (0.01, "1 in 100"),
        (0.0099, "less than 1 in 100"),
        (0.0, "less than 1 in 100"),
    ],
)
def test_a_chance_as_people_count(chance, words) -> None:
    assert chance_words(chance) == words


@given(st.floats(0.01, 0.95))
def test_a_chance_said_is_near_the_chance_meant(chance) -> None:
    one, _, many = chance_words(chance).partition(" in ")
    assert int(one) / int(many) == pytest.approx(chance, rel=0.5)


@pytest.mark.parametrize("number", [2, 5, 10, 20, 50, 100])
def test_a_ratio(number) -> None:
    assert ratio_words(1 / number) == f"1 in {number}"


def test_the_rule_that_fired() -> None:
    assert rule_words((0.05, 0.05), (0.3, 0.2)) == (
        "Acts because the chance that plants are killed, 1 in 20, is at least 1 in 20, the chance "
        "this site acts at."
    )
    assert rule_words((0.7, 0.05), (0.9, 0.2)).startswith(
        "Acts because the chance that plants are killed, 7 in 10, is at least 1 in 20,"
    )
    assert rule_words((0.04, 0.05), (0.2, 0.2)).startswith(
        "Acts because the chance that plants are harmed, 2 in 10, is at least 1 in 5,"
    )
    assert "harmed, 6 in 10, is at least 1 in 5," in rule_words((0.04, 0.05), (0.6, 0.2))
    assert rule_words((0.02, 0.05), (0.1, 0.2)) == (
        "Does not act: the chance of killing is 1 in 50 and the site acts from 1 in 20; of harm "
        "1 in 10, from 1 in 5."
    )


def test_wind() -> None:
    assert calm_words(True) == "Still air: covers work"
    assert calm_words(False).startswith("Windy")
    assert calm_words(None).startswith("Wind not known")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ((14, 3, 0), "cover 14 plants in 3 beds"),
        ((1, 1, 0), "cover 1 plant in 1 bed"),
        ((14, 3, 6), "cover 14 plants in 3 beds and bring in 6"),
        ((0, 0, 6), "bring in 6 plants"),
        ((0, 0, 1), "bring in 1 plant"),
        ((0, 0, 0), ""),
    ],
)
def test_work(given, words) -> None:
    assert work_words(*given) == words


def test_frost_is_likely_from_an_even_chance_on() -> None:
    assert likelihood(0.5) == "Frost likely"
    assert likelihood(0.499) == "Frost may come"


@pytest.mark.parametrize(
    ("names", "words"),
    [
        ([], ""),
        (["Bed 1"], "Bed 1"),
        (["Bed 1", "Bed 2"], "Bed 1 and Bed 2"),
        (["Bed 1", "Bed 2", "Bed 3", "Bed 4", "Bed 5"], "Bed 1 to 5"),
        (["B9", "B10", "B11"], "B9 to 11"),
        (["Bed 1", "Bed 2", "Bed 4"], "Bed 1, Bed 2 and Bed 4"),
        (["Bed 1", "Pot 2", "Bed 3"], "Bed 1, Pot 2 and Bed 3"),
        (["Bed 1", "Wall", "Bed 3"], "Bed 1, Wall and Bed 3"),
        (["a", "b", "c", "d"], "a, b, c and d"),
        (["a", "b", "c", "d", "e"], "a, b, c, d and 1 more"),
    ],
)
def test_places(names, words) -> None:
    assert places_words(names) == words


def test_what_becomes_of_them() -> None:
    assert impact_words([], 0.9, killing=True) == ""
    assert impact_words(["peppers"], 0.5, killing=True) == "Uncovered peppers will die."
    assert impact_words(["peppers"], 0.49, killing=True) == "Uncovered peppers may die."
    assert (
        impact_words(["peppers", "tomatoes", "beans"], 0.9, killing=False)
        == "Uncovered peppers, tomatoes and beans may be harmed."
    )


def test_every_action_has_its_word() -> None:
    assert list(ACTION_WORDS) == list(Action)
