"""Harvest rounds: the first by the crop's days, then about weekly, or one flush and done.

Green peppers 65 to 80 days after planting out: Peppers, book chapter, doi 10.1201/9780429035258-27.
Tomatoes and eggplants and the weekly rounds are from memory; a kept plant's lead and the flush are
common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.harvest import rounds
from lifecycle.care.seasons import season
from lifecycle.care.summer import Summer
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from tests.care.sites import site
from tests.care.summers import (
    OUT,
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

FREEZE = date(2026, 9, 28)
BUSH = "tomato_determinate"
NO_ROT = (
    "The first fruit is the one that blossom-end rot takes: even watering is its cure, magnesium "
    "salts are none."
)


def test_the_first_peppers() -> None:
    step = work(young(), OUT)["harvest"]
    assert window(step) == (65, 72, 80)
    assert step.reason == f"65 to 80 days after planting out on {{2026-05-25}}. {NO_ROT}"
    assert step.identity == ("harvest", 2026, 1)
    assert (step.setting, step.anchor) == ("", "planting out")
    assert step.source == CROPS["annuum"].fact("maturity").source
    assert step.counts_from == date(2026, 3, 12)


@pytest.mark.parametrize("crop", ["tomato_cherry", "tomato_indeterminate", BUSH, "eggplant"])
def test_the_first_of_other_crops_by_their_own_days(crop: str) -> None:
    maturity = CROPS[crop].fact("maturity")
    step = work(young(), OUT, crop)["harvest"]
    low, high = round(maturity.si), round(maturity.si_high)
    assert window(step) == (low, (low + high) // 2, high)


def test_a_variety_with_one_maturity() -> None:
    outlook = outlook_of(OUT)
    outlook = replace(outlook, crop=outlook.crop.adapted({"maturity": 70}))
    [step] = rounds(Summer(life_of(young()), season(outlook.dates, 2026), OUT, outlook, True))
    assert window(step) == (70, 70, 70)
    assert step.reason == f"70 days after planting out on {{2026-05-25}}. {NO_ROT}"
    assert step.source == "garden"


def test_a_kept_plant_bears_a_month_sooner() -> None:
    step = work(kept(), OUT)["harvest"]
    assert window(step) == (35, 42, 50)
    assert step.reason == (
        "35 to 50 days after planting out on {2026-05-25}, 30 days sooner than a seedling: a kept "
        f"plant is in bud or fruit when seedlings are just going out. {NO_ROT}"
    )
    resumes = date(2026, 5, 6)
    assert window(work(stood_out(), resumes, out=resumes)["harvest"], resumes) == (35, 42, 50)


def test_then_every_week() -> None:
    first = later(75)
    facts = [*young(), fact(Kind.PICKED, first)]
    step = work(facts, first)["harvest"]
    assert (window(step, first), step.number) == ((4, 7, 10), 2)
    assert step.reason == (
        "Every 7 days while it bears, the last on {2026-08-08}: what is picked sets more."
    )
    assert (step.source, step.anchor) == ("practice", "the harvest before")
    second = work([*facts, fact(Kind.PICKED, later(80))], later(80))["harvest"]
    assert (window(second, later(80)), second.number) == ((4, 7, 10), 3)


def test_until_the_freeze_of_one_year_in_ten() -> None:
    assert last_day(young(), "harvest", OUT, 200) == FREEZE
    late = [*young(), fact(Kind.PICKED, FREEZE - timedelta(7))]
    assert work(late, FREEZE)["harvest"].window.best == FREEZE
    over = [*young(), fact(Kind.PICKED, FREEZE - timedelta(6))]
    assert "harvest" not in work(over, FREEZE - timedelta(6))
    # Set out so late that nothing ripens before it.
    out = FREEZE - timedelta(71)
    assert "harvest" not in work(young(out=out), out)
    assert "harvest" in work(young(out=out - timedelta(1)), out)


def test_where_nothing_freezes_it_goes_on() -> None:
    warm = site("all year warm")
    facts = [*young(), fact(Kind.PICKED, date(2027, 2, 1))]
    assert "harvest" in work(facts, date(2027, 2, 1), dates=warm)


def test_what_a_waking_plant_gave_indoors_counts_but_sets_no_day() -> None:
    facts = kept()
    facts.insert(5, fact(Kind.PICKED, date(2026, 4, 20)))
    step = work(facts, OUT)["harvest"]
    assert (window(step), step.number) == ((35, 42, 50), 2)


def test_nothing_is_picked_from_a_plant_at_rest() -> None:
    resting = [*young(), fact(Kind.PICKED, later(75)), fact(Kind.GONE_TO_REST, later(80))]
    assert "harvest" not in work(resting, later(81))


def test_a_determinate_tomato_has_one_flush() -> None:
    first = later(70)
    assert "clear" not in work(young(), later(70), BUSH)
    facts = [*young(), fact(Kind.PICKED, first)]
    steps = work(facts, first, BUSH)
    assert window(steps["clear"], first) == (28, 28, 42)
    assert steps["clear"].reason == (
        "It ripens in one flush of about 4 weeks, begun on {2026-08-03}, and is then finished: "
        "pick the rest and clear it."
    )
    assert (steps["clear"].source, steps["clear"].anchor) == ("practice", "the first harvest")
    assert steps["clear"].number == 1
    assert steps["harvest"].number == 2
    # Picking goes on to the end of the flush, counted from the first picking.
    more = [*facts, fact(Kind.PICKED, first + timedelta(21))]
    assert work(more, first + timedelta(21), BUSH)["harvest"].window.best == later(98)
    assert last_day(more, "harvest", first, 60, BUSH) == first + timedelta(28)
    enough = [*facts, fact(Kind.PICKED, first + timedelta(22))]
    assert "harvest" not in work(enough, first + timedelta(22), BUSH)
    assert last_day(facts, "clear", first, 160, BUSH) == first + timedelta(28 + 14 + 45)


def test_what_is_picked_on_the_day_it_goes_out_begins_the_rounds() -> None:
    facts = [*young(), fact(Kind.PICKED, OUT)]
    step = work(facts, OUT)["harvest"]
    assert window(step) == (4, 7, 10)
    assert step.reason.startswith("Every 7 days while it bears, the last on {2026-05-25}")
    assert window(work(facts, OUT, BUSH)["clear"]) == (28, 28, 42)


def test_the_freeze_ends_a_flush_too() -> None:
    facts = [*young(), fact(Kind.PICKED, FREEZE - timedelta(10))]
    assert last_day(facts, "harvest", FREEZE - timedelta(10), 30, BUSH) == FREEZE


@pytest.mark.parametrize("crop", ["annuum", "tomato_semi", "tomato_cherry", "eggplant"])
def test_the_others_go_on_bearing(crop: str) -> None:
    facts = [*young(), fact(Kind.PICKED, later(70))]
    steps = work(facts, later(110), crop)
    assert "clear" not in steps
    assert "harvest" in steps
