"""Set out: depth, pairs, what goes in the hole; watered in, labelled and mulched.

The tomato's gain by depth: Vegetarian 94-10, University of Florida. Mulch of 2 to 4 in: J. Fulton,
University of Illinois Extension. The rest is common practice, no source.
"""

from datetime import date

import pytest

from lifecycle.care.outlook import Ground
from lifecycle.care.policy import DEFAULTS, policy_of
from lifecycle.care.setting_out import depth, hole, pair
from lifecycle.care.wording import in_units
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from tests.care.summers import OUT, fact, kept, last_day, later, stood_out, window, work, young

PEPPER, TOMATO, EGGPLANT = CROPS["annuum"], CROPS["tomato_indeterminate"], CROPS["eggplant"]
DEEP = "Set tomatoes deep, to the first true leaf, for 26 % more at first pick"
LYING = "lay them on their side, the tip turned up."


def test_peppers_are_set_as_the_site_has_chosen() -> None:
    as_stood = "Set peppers no deeper than they stood."
    assert depth(PEPPER, DEFAULTS, Ground()) == as_stood
    assert depth(CROPS["pubescens"], policy_of({"pepper_depth": "as_stood"}), Ground()) == as_stood
    assert depth(PEPPER, policy_of({"pepper_depth": "to_leaf"}), Ground()) == (
        "Set peppers to the seed leaves: they lodge less, but deeper soil is colder in a cool "
        "spring."
    )
    assert depth(EGGPLANT, DEFAULTS, Ground()) == "Set eggplants as they stood."
    assert depth(CROPS["pea"], DEFAULTS, Ground()) == ""


@pytest.mark.parametrize(
    ("ground", "words"),
    [
        (Ground(), f"{DEEP}; in a bed only {{15 cm}} deep over wire {LYING}"),
        (Ground(wire=True), f"{DEEP}; in a bed only {{15 cm}} deep over wire {LYING}"),
        (Ground(depth_cm=15.8), f"{DEEP}."),
        (Ground(depth_cm=30.0, wire=True), f"{DEEP}."),
        (
            Ground(depth_cm=15.24 + 0.5),
            "This bed is only {16 cm} deep: lay tomatoes on their side, the tip turned up.",
        ),
        (
            Ground(depth_cm=15.24, wire=True),
            "This bed is only {15 cm} deep over wire: lay tomatoes on their side, the tip turned "
            "up.",
        ),
    ],
)
def test_tomatoes_are_set_deep_or_lie_in_a_shallow_bed(ground: Ground, words: str) -> None:
    assert depth(TOMATO, DEFAULTS, ground) == words


def test_the_shallow_bed_reads_in_inches() -> None:
    words = in_units(depth(TOMATO, DEFAULTS, Ground(depth_cm=15.24, wire=True)), length="in")
    assert words.startswith("This bed is only 6 in deep over wire")


def test_two_in_one_pot_stay_together() -> None:
    assert pair(1) == ""
    assert pair(2) == "The two in one pot stay together and hold each other up."


def test_the_hole_of_a_pepper_gets_bone_meal_and_little_nitrogen() -> None:
    assert hole(PEPPER) == (
        "Into the hole bone meal and a material of about 1-0-2: little nitrogen for young peppers."
    )
    assert hole(TOMATO) == hole(EGGPLANT) == ""


def test_the_windows_after_planting_out() -> None:
    steps = work(young(), OUT)
    assert window(steps["water_in"]) == (0, 0, 1)
    assert window(steps["label"]) == (0, 0, 7)
    assert window(steps["mulch"]) == (10, 14, 28)
    for kind in ("water_in", "label", "mulch"):
        step = steps[kind]
        assert (step.growing_year, step.number, step.waits_for) == (2026, 1, "")
        assert step.anchor == "planting out"
        assert "{2026-05-25}" in step.reason
        assert step.setting == ""


def test_the_words_of_each() -> None:
    steps = work(young(), OUT)
    assert steps["water_in"].reason.endswith("water in the same day, so that soil closes on roots.")
    assert steps["label"].reason == (
        "Planted out on {2026-05-25}: a label at every plant, in pencil or scratched in, for ink "
        "fades in a season."
    )
    assert "{5 cm} to {10 cm} of mulch, the drip line under it, leaves kept dry." in (
        steps["mulch"].reason
    )
    sources = {kind: steps[kind].source for kind in ("water_in", "label", "mulch")}
    assert sources == {"water_in": "practice", "label": "practice", "mulch": "ber_illinois"}


@pytest.mark.parametrize(
    ("kind", "entry", "last"),
    [("water_in", Kind.WATERED, 2), ("label", Kind.LABELLED, 14), ("mulch", Kind.MULCHED, 56)],
)
def test_done_or_too_late_it_is_not_asked_for(kind: str, entry: Kind, last: int) -> None:
    assert last_day(young(), kind, OUT, 90) == later(last)
    done = [*young(), fact(entry, later(1))]
    assert kind not in work(done, later(1))
    # One brought in for some days and set out once more in the same season is not asked again.
    moved = [
        *done,
        fact(Kind.WINTER_QUARTERS, later(2), inside=True, choice="growing_on"),
        fact(Kind.PLANTED_OUT, later(6), inside=False),
    ]
    assert kind not in work(moved, later(6))
    # Nor is it a kept plant by that: it has seen no winter.
    assert {"stake", "flowers_off"} <= set(work(moved, later(6)))


def test_water_of_the_seedling_does_not_water_in_but_its_label_counts() -> None:
    facts = young(out=None)
    facts += [fact(Kind.WATERED, later(-1)), fact(Kind.LABELLED, later(-1))]
    facts.append(fact(Kind.PLANTED_OUT, OUT, inside=False))
    steps = work(facts, OUT)
    assert steps["water_in"].counts_from == OUT
    assert "label" not in steps
    # The season begins 60 days before the earliest day to plant out, 11 May.
    assert work(young(), OUT)["label"].counts_from == date(2026, 3, 12)


def test_a_label_of_last_year_is_renewed() -> None:
    facts = kept()
    facts.insert(2, fact(Kind.LABELLED, date(2025, 6, 1)))
    assert "label" in work(facts, OUT)


def test_a_pot_is_neither_watered_in_nor_mulched() -> None:
    steps = work(young(), OUT, ground=Ground(in_pot=True))
    assert "label" in steps
    assert not {"water_in", "mulch"} & set(steps)


def test_a_plant_carried_out_is_not_watered_in() -> None:
    facts = [
        fact(Kind.INHERITED, date(2026, 1, 5), inside=True, quantity=1, choice="growing"),
        fact(Kind.WINTER_QUARTERS, date(2026, 1, 5), inside=True, choice="growing_on"),
        fact(Kind.MOVED, OUT, inside=False),
    ]
    steps = work(facts, OUT)
    assert "water_in" not in steps
    assert "label" in steps


def test_a_plant_that_stood_out_all_winter_is_not_set_out() -> None:
    steps = work(stood_out(), date(2026, 5, 10), out=date(2026, 5, 6))
    assert not {"water_in", "label", "mulch"} & set(steps)


def test_before_planting_it_all_lies_ahead_whatever_it_stands_in() -> None:
    steps = work(young(out=None), date(2026, 5, 1), ground=Ground(in_pot=True))
    assert {"water_in", "label", "mulch", "stake"} <= set(steps)
    assert steps["water_in"].window.best == OUT
    # Late for the best day, it is counted from today.
    assert work(young(out=None), later(4))["water_in"].window.best == later(4)
    assert work(young(out=None), later(4))["water_in"].counts_from == later(4)


def test_what_opens_later_than_wanted_is_not_built() -> None:
    assert "mulch" in work(young(), OUT, until=later(10))
    assert "mulch" not in work(young(), OUT, until=later(9))
    assert work(young(out=None), date(2026, 5, 1), until=later(-1)) == {}
