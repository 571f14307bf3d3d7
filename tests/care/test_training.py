"""Support and shape of peppers, eggplants and tomatoes by habit.

Single stems 12 to 15 in apart, suckers out before 4 in, caged plants 36 in apart and not pruned:
Trellising tomatoes, NC State University Extension. Topping for leaf cover: J. Myrick, UC Davis
2011. The rest is common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import season
from lifecycle.care.steps import Step
from lifecycle.care.training import season_length, topping
from lifecycle.life.kinds import Kind
from tests.care.sites import site, typed_site
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

TALL, BUSH = "tomato_indeterminate", "tomato_determinate"
FREEZE = date(2026, 9, 28)


def test_a_pepper_is_staked_at_planting_and_tied_a_month_later() -> None:
    steps = work(young(), OUT)
    assert window(steps["stake"]) == (0, 0, 14)
    assert window(steps["tie"]) == (21, 30, 50)
    assert steps["stake"].reason == (
        "At planting, before it can go through roots: a stake of {61 cm}, {15 cm} of it in the "
        "ground."
    )
    assert steps["tie"].reason == (
        "At about {30 cm} tall, some 30 days after {2026-05-25}: tie it loosely, in an eight."
    )
    for kind, last in (("stake", 44), ("tie", 80)):
        assert steps[kind].source == "practice"
        assert steps[kind].anchor == "planting out"
        assert steps[kind].setting == ""
        assert last_day(young(), kind, OUT, 120) == later(last)
    assert "stake" not in work([*young(), fact(Kind.STAKED, OUT, choice="stake")], OUT)
    assert "tie" not in work([*young(), fact(Kind.TIED, later(25))], later(25))


def test_a_pair_holds_each_other_up() -> None:
    steps = work(young(count=2), OUT)
    together = "The two in one pot stay together and hold each other up."
    assert steps["stake"].reason.endswith(f"ground. {together} One stake between them will do.")
    assert steps["tie"].reason.endswith(f"in an eight. {together} One loose tie goes round both.")


def test_eggplants_are_staked_too() -> None:
    assert {"stake", "tie"} <= set(work(young(), OUT, "eggplant"))


def test_a_woody_plant_gets_a_stout_support() -> None:
    steps = work(kept(), OUT)
    assert "stake" not in steps
    assert window(steps["stake_stout"]) == (0, 0, 14)
    assert steps["stake_stout"].reason == (
        "Its stems are woody and it will carry more than in its first year: a stout stake or a "
        "trellis from {2026-05-25} on."
    )
    assert "tie" in steps
    assert steps["stake_stout"].anchor == "planting out"
    assert last_day(kept(), "stake_stout", OUT, 90) == later(44)
    assert "stake_stout" not in work([*kept(), fact(Kind.STAKED, OUT, choice="stake")], OUT)


def test_what_stands_stout_beside_a_plant_that_was_never_moved_stays() -> None:
    resumes = date(2026, 5, 6)
    stout = [*stood_out(), fact(Kind.STAKED, date(2025, 6, 1), choice="stout")]
    slight = [*stood_out(), fact(Kind.STAKED, date(2025, 6, 1), choice="stake")]
    assert "stake_stout" not in work(stout, resumes, out=resumes)
    assert "stake_stout" in work(slight, resumes, out=resumes)
    assert "stake" not in work(slight, resumes, out=resumes)
    # One that was lifted and set out again needs it anew.
    again = kept()
    again.insert(2, fact(Kind.STAKED, date(2025, 6, 1), choice="stout"))
    assert "stake_stout" in work(again, OUT)


def test_a_plant_of_unknown_years_that_stood_in_growth_is_kept() -> None:
    old = [fact(Kind.INHERITED, date(2025, 8, 1), inside=False, quantity=1, choice="growing")]
    new = [fact(Kind.INHERITED, date(2026, 6, 1), inside=False, quantity=1, choice="growing")]
    assert "stake_stout" in work(old, date(2026, 5, 6), out=date(2026, 5, 6))
    assert not {"stake", "stake_stout"} & set(work(new, date(2026, 6, 2), out=date(2026, 6, 1)))


def test_a_determinate_tomato_is_caged_and_left_alone() -> None:
    steps = work(young(), OUT, BUSH)
    assert window(steps["cage"]) == (0, 0, 14)
    assert steps["cage"].reason == (
        "About {91 cm} tall and {91 cm} apart: caged and not pruned, for every shoot taken off is "
        "fruit lost. One flush, and then it is finished."
    )
    assert (steps["cage"].source, steps["cage"].setting) == ("ncsu", "")
    assert steps["cage"].anchor == "planting out"
    assert not {"string", "side_shoots", "wind_on", "lower", "stake", "tie"} & set(steps)
    assert last_day(young(), "cage", OUT, 90, BUSH) == later(44)


def test_a_semi_determinate_tomato_is_caged_as_well() -> None:
    cage = work(young(), OUT, "tomato_semi")["cage"]
    assert cage.reason == "Caged and not pruned, {91 cm} apart."
    assert cage.setting == ""


@pytest.mark.parametrize("crop", [TALL, "tomato_cherry"])
def test_a_tall_tomato_goes_up_a_string(crop: str) -> None:
    steps = work(young(), OUT, crop)
    assert window(steps["string"]) == (0, 0, 14)
    assert steps["string"].reason == (
        "One stem on a string, {30 cm} to {38 cm} apart. Left alone, one plant can cover {305 cm}."
    )
    assert {steps[kind].setting for kind in ("string", "side_shoots", "wind_on", "lower")} == {
        "tomato_training"
    }
    assert {steps[kind].anchor for kind in ("string", "side_shoots", "wind_on", "lower")} == {
        "planting out"
    }
    assert steps["string"].source == "ncsu"
    assert not {"cage", "stake", "tie"} & set(steps)
    assert last_day(young(), "string", OUT, 90, crop) == later(44)


def test_or_into_a_cage_where_the_site_has_chosen_so() -> None:
    steps = work(young(), OUT, TALL, tomato_training="cage")
    assert steps["cage"].reason == "Caged and not pruned, {91 cm} apart."
    assert steps["cage"].setting == "tomato_training"
    assert not {"string", "side_shoots", "wind_on", "lower"} & set(steps)
    # The setting is for tall ones.
    assert "cage" in work(young(), OUT, BUSH, tomato_training="string")


def test_neither_cage_nor_string_for_what_stood_out_all_winter() -> None:
    for crop in (TALL, BUSH):
        steps = work(stood_out(), date(2026, 5, 10), crop, out=date(2026, 5, 6))
        assert not {"cage", "string"} & set(steps)


@pytest.mark.parametrize(
    ("kind", "entry", "first", "then"),
    [
        ("side_shoots", Kind.SIDE_SHOOTS, (14, 14, 17), (3, 3, 4)),
        ("wind_on", Kind.TIED, (14, 14, 21), (7, 7, 10)),
        # From 12 in to a wire at 7 ft at 8 in a week: nine weeks; 2 ft let down: three weeks.
        ("lower", Kind.LOWERED, (56, 63, 70), (18, 21, 28)),
    ],
)
def test_the_rounds_of_a_single_stem(
    kind: str, entry: Kind, first: tuple[int, ...], then: tuple[int, ...]
) -> None:
    assert window(work(young(), OUT, TALL)[kind]) == first
    assert work(young(), OUT, TALL)[kind].number == 1
    done = later(first[1] + 2)
    facts = [*young(), fact(entry, done)]
    step = work(facts, done, TALL)[kind]
    assert (window(step, done), step.number) == (then, 2)
    # The season: 60 days before nights of 50 F, which a tomato waits for, from 11 May.
    assert step.counts_from == date(2026, 3, 12)
    twice = [*facts, fact(entry, done + timedelta(then[1]))]
    assert work(twice, later(90), TALL)[kind].number == 3
    # Nobody did it: it stays due until the freeze of one year in ten, and no longer.
    assert last_day(young(), kind, OUT, 200, TALL) == FREEZE
    # The last one is not due after the freeze.
    late = [*young(), fact(entry, FREEZE - timedelta(then[1]))]
    assert work(late, FREEZE, TALL)[kind].window.best == FREEZE
    over = [*young(), fact(entry, FREEZE - timedelta(then[1] - 1))]
    assert kind not in work(over, FREEZE, TALL)


def test_the_words_of_the_rounds() -> None:
    steps = work(young(), OUT, TALL)
    assert steps["side_shoots"].reason == (
        "Every 3 to 4 days, before they are {10 cm} long: break side shoots out on a dry day and "
        "keep one stem."
    )
    assert steps["wind_on"].reason == (
        "Every 7 days, at midday, when stems bend without breaking: wind the tip round its string."
    )
    assert steps["lower"].reason == (
        "At {20 cm} a week it reaches a wire at {213 cm} about now: let it down by {61 cm} and "
        "hang it again instead of topping it."
    )
    assert [steps[kind].source for kind in ("side_shoots", "wind_on", "lower")] == [
        "ncsu",
        "practice",
        "practice",
    ]


def test_what_was_done_before_planting_out_counts_but_sets_no_day() -> None:
    facts = [
        fact(Kind.INHERITED, date(2026, 1, 5), inside=True, quantity=1, choice="waking"),
        fact(Kind.TIED, later(-10)),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]
    step = work(facts, OUT, TALL)["wind_on"]
    assert (step.number, window(step)) == (2, (14, 14, 21))


# Topping


def topped(outlook: Outlook, count: int = 1, facts=None) -> list[Step]:
    life = life_of(facts or young(count, out=None))
    return topping(life, season(outlook.dates, 2026), outlook)


def test_a_young_pepper_is_topped_at_six_leaves() -> None:
    [step] = topped(outlook_of(RAISED))
    assert window(step, RAISED) == (14, 21, 42)
    assert step.reason == (
        "At about 6 true leaves: topped peppers branch, and leaves shade the fruit. It costs two "
        "weeks, and the season here lasts 125 days."
    )
    assert (step.kind, step.source, step.setting) == ("pinch", "ucd", "pinch")
    assert step.identity == ("pinch", 2026, 1)
    assert step.anchor == "potting up"
    assert step.counts_from == RAISED


def test_topping_is_over_six_weeks_after_potting_up_or_once_done() -> None:
    assert topped(outlook_of(RAISED + timedelta(42)))
    assert topped(outlook_of(RAISED + timedelta(43))) == []
    done = [*young(out=None), fact(Kind.PINCHED, RAISED + timedelta(20))]
    assert topped(outlook_of(RAISED + timedelta(20)), facts=done) == []
    out_early = young(out=RAISED + timedelta(15))
    assert topped(outlook_of(RAISED + timedelta(16)), facts=out_early)


def test_the_site_may_leave_it_and_only_peppers_raised_from_seed_are_topped() -> None:
    assert topped(outlook_of(RAISED, pinch="leave")) == []
    assert topped(outlook_of(RAISED, TALL)) == []
    cutting = [fact(Kind.STRUCK_CUTTING, RAISED, inside=True, quantity=1)]
    assert topped(outlook_of(RAISED), facts=cutting) == []


def test_a_plant_at_rest_is_not_topped() -> None:
    resting = [
        *young(),
        fact(Kind.LIFTED, later(1)),
        fact(Kind.WINTER_QUARTERS, later(1), inside=True, choice="resting"),
    ]
    assert topped(outlook_of(later(-10)), facts=resting) == []


@pytest.mark.parametrize(("freeze", "length"), [((9, 23), 120), ((9, 22), 119)])
def test_in_a_season_under_120_days_it_is_left(freeze: tuple[int, int], length: int) -> None:
    # Lifting falls on the day before the freeze of one year in ten, counted from 25 May.
    dates = replace(typed_site(), first_freeze_risk=freeze, mild_until=(10, 30))
    assert season_length(season(dates, 2026)) == length
    assert bool(topped(outlook_of(RAISED, dates=dates))) is (length == 120)


def test_where_nothing_is_lifted_the_freeze_ends_the_season() -> None:
    dates = replace(site("all year warm"), first_freeze_risk=(9, 1), frosty=True)
    current = season(dates, 2026)
    assert current.lift is None
    assert season_length(current) == (date(2026, 9, 1) - current.plant_out.best).days


def test_where_no_cold_comes_the_season_lasts_all_year() -> None:
    dates = site("all year warm")
    assert season_length(season(dates, 2026)) is None
    [step] = topped(outlook_of(RAISED, dates=dates))
    assert step.reason.endswith("the season here lasts all year.")
