"""First flowers off a plant too small to carry fruit; setting fruit by hand indoors.

Flowers drop on nights below 60 F (Bell peppers, Iowa State University Extension), and set poorly
above 75 F (Ohio Vegetable Production Guide 2010). The rest is common practice, no source.
"""

from datetime import date, timedelta

import pytest

from lifecycle.care.flowers import first_flowers_inside, pollination
from lifecycle.care.seasons import season
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.summers import (
    OUT,
    RAISED,
    fact,
    kept,
    last_day,
    later,
    outlook_of,
    stood_out,
    window,
    work,
    young,
)
from tests.life.facts import life_of

FLOWERED = date(2026, 5, 4)


@pytest.mark.parametrize("crop", ["annuum", "chinense", "eggplant"])
def test_first_flowers_come_off_for_three_weeks(crop: str) -> None:
    step = work(young(), OUT, crop)["flowers_off"]
    assert window(step, step.window.earliest) == (0, 7, 21)
    assert step.window.earliest == OUT
    assert step.reason == (
        "For the first 21 days after planting out on {2026-05-25}: a plant too small to carry "
        "fruit grows roots and leaves first."
    )
    assert (step.source, step.setting, step.anchor) == (
        "practice",
        "first_flowers",
        "planting out",
    )
    assert last_day(young(), "flowers_off", OUT, 60, crop) == later(21)
    assert step.counts_from <= RAISED


def test_not_where_the_site_leaves_them_nor_for_tomatoes_nor_kept_plants() -> None:
    assert "flowers_off" not in work(young(), OUT, first_flowers="leave")
    assert "flowers_off" not in work(young(), OUT, "tomato_cherry")
    assert "flowers_off" not in work(kept(), OUT)
    stood = work(stood_out(), date(2026, 5, 10), out=date(2026, 5, 6))
    assert "flowers_off" not in stood
    new = [fact(Kind.INHERITED, date(2026, 6, 1), inside=False, quantity=1, choice="growing")]
    assert "flowers_off" not in work(new, date(2026, 6, 2), out=date(2026, 6, 1))


def test_once_is_enough_wherever_it_was_done() -> None:
    done = young(out=None)
    done += [fact(Kind.FLOWERS_OFF, FLOWERED), fact(Kind.PLANTED_OUT, OUT, inside=False)]
    assert "flowers_off" not in work(done, OUT)
    long_ago = [
        fact(Kind.RAISED, date(2026, 2, 1), inside=True, quantity=1),
        fact(Kind.FLOWERS_OFF, date(2026, 3, 1)),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]
    assert "flowers_off" not in work(long_ago, OUT)


def inside(facts: list[Fact], today: date, crop: str = "annuum", **chosen: str) -> list[Step]:
    outlook = outlook_of(today, crop, **chosen)
    return first_flowers_inside(life_of(facts), season(outlook.dates, 2026), outlook)


def test_a_seedling_that_flowers_is_told_of() -> None:
    assert inside(young(out=None), FLOWERED) == []
    facts = [*young(out=None), fact(Kind.FIRST_FLOWER, FLOWERED)]
    [step] = inside(facts, FLOWERED)
    assert window(step, FLOWERED) == (0, 0, 7)
    assert step.identity == ("flowers_off", 2026, 1)
    assert (step.source, step.setting, step.anchor) == ("practice", "first_flowers", "first flower")
    assert step.reason == (
        "It flowered on {2026-05-04}, before planting out, best on {2026-05-25} here: too small "
        "to carry fruit."
    )
    assert inside(facts, FLOWERED + timedelta(28))
    assert inside(facts, FLOWERED + timedelta(29)) == []
    assert inside(facts, FLOWERED, first_flowers="leave") == []
    assert inside(facts, FLOWERED, "tomato_semi") == []
    assert inside([*facts, fact(Kind.FLOWERS_OFF, FLOWERED)], FLOWERED) == []


def test_taken_off_before_the_season_started_they_are_off() -> None:
    facts = [fact(Kind.RAISED, date(2026, 2, 1), inside=True, quantity=1)]
    facts.append(fact(Kind.FIRST_FLOWER, date(2026, 3, 1)))
    assert inside(facts, date(2026, 3, 2))
    assert inside([*facts, fact(Kind.FLOWERS_OFF, date(2026, 3, 2))], date(2026, 3, 2)) == []


def test_a_plant_put_to_rest_is_left_alone() -> None:
    facts = [*young(), fact(Kind.FIRST_FLOWER, OUT)]
    assert inside(facts, OUT)
    facts.append(fact(Kind.WINTER_QUARTERS, OUT, inside=True, choice="resting"))
    assert inside(facts, OUT) == []


def test_a_waking_plant_keeps_its_flowers() -> None:
    facts = kept()[:-1]
    assert inside([*facts, fact(Kind.FIRST_FLOWER, FLOWERED)], FLOWERED) == []


# By hand

IN, ENDS = date(2025, 9, 28), date(2026, 5, 11)


def grown_on(*more: Fact) -> list[Fact]:
    return [
        fact(Kind.RAISED, date(2025, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, date(2025, 5, 25), inside=False),
        fact(Kind.LIFTED, date(2025, 9, 27)),
        fact(Kind.WINTER_QUARTERS, IN, inside=True, choice="growing_on"),
        *more,
    ]


def by_hand(facts: list[Fact], today: date, crop: str = "annuum", **more) -> list[Step]:
    outlook = outlook_of(today, crop, **more)
    winter = season(outlook.dates, 2025)
    return pollination(life_of(facts), winter, IN, outlook, ends=ENDS)


def test_weekly_from_a_week_after_it_came_in() -> None:
    [step] = by_hand(grown_on(), IN)
    assert window(step, IN) == (7, 7, 10)
    assert step.identity == ("pollinate", 2025, 1)
    assert step.reason == (
        "No wind and no bees indoors: every 7 days shake open flowers or touch them with a soft "
        "brush. Fruit sets best at {15.56 C} to {23.89 C} at night."
    )
    assert (step.source, step.setting, step.anchor) == ("iowa", "", "winter quarters")
    done = IN + timedelta(9)
    [step] = by_hand(grown_on(fact(Kind.POLLINATED, done)), done)
    assert (window(step, done), step.number) == ((7, 7, 10), 2)


def test_one_done_outside_in_summer_counts_but_sets_no_day() -> None:
    facts = grown_on()
    facts.insert(2, fact(Kind.POLLINATED, date(2025, 7, 1)))
    [step] = by_hand(facts, IN)
    assert (window(step, IN), step.number) == ((7, 7, 10), 2)


def test_until_hardening_and_not_for_what_rests() -> None:
    assert by_hand(grown_on(), ENDS)
    assert by_hand(grown_on(), ENDS + timedelta(1)) == []
    late = ENDS - timedelta(6)
    assert by_hand(grown_on(fact(Kind.POLLINATED, late)), late) == []
    assert by_hand(kept()[:4], IN) == []


def test_it_is_not_built_before_it_is_wanted() -> None:
    assert by_hand(grown_on(), IN, until=IN + timedelta(7))
    assert by_hand(grown_on(), IN, until=IN + timedelta(6)) == []
