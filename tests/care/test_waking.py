"""Waking, repotting, replanting, and the winter as a whole."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care import spring, winter
from lifecycle.care.policy import policy_of
from lifecycle.care.seasons import season
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact, Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route
from tests.care.summers import outlook_of, young
from tests.care.winters import LIFT, NO_FROST, QUARTERS, edges, inside, woken, year
from tests.life.facts import fact, life_of, standing

ONE = timedelta(1)
NEW_YEAR = date(2027, 1, 1)
WAITING = policy_of({"wake_anchor": "last_frost"})
DEFAULT = policy_of({})


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


# Waking


def test_the_anchor_of_waking_is_a_setting() -> None:
    coming = year(2027)
    assert edges_of(coming, DEFAULT) == ("03-26", "04-10", "04-25")
    # A month before 20 April, and fifteen days either side of it.
    assert edges_of(coming, WAITING) == ("03-06", "03-21", "04-05")
    assert edges_of(replace(coming, spring_freeze_middle=None), WAITING) == (
        "03-26", "04-10", "04-25",
    )  # fmt: skip


def edges_of(coming, policy) -> tuple[str, ...]:
    window = spring.wake_window(coming, policy)
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


@pytest.mark.parametrize(
    ("choice", "frost", "reason", "anchor", "source"),
    [
        (
            "planting_out", True,
            "One to two months before planting out, best on {2027-05-25} here: warmer, {18.33 C} "
            "to {23.89 C}, brighter, more water. Others wake a month before the last frost, here "
            "{2027-04-20}.",
            "planting out", "bucks",
        ),
        (
            "last_frost", True,
            "A month before the last frost, here {2027-04-20} in the middle of years: warmer, "
            "{18.33 C} to {23.89 C}, brighter, more water. Others wake one to two months before "
            "planting out, here best on {2027-05-25}.",
            "the last frost", "muncie",
        ),
        (
            "planting_out", False,
            "One to two months before planting out, best on {2027-05-25} here: warmer, {18.33 C} "
            "to {23.89 C}, brighter, more water. Others wake a month before the last frost; none "
            "is known here.",
            "planting out", "bucks",
        ),
    ],
)  # fmt: skip
def test_waking_shows_both_anchors(
    choice: str, frost: bool, reason: str, anchor: str, source: str
) -> None:
    coming = year(2027) if frost else replace(year(2027), spring_freeze_middle=None)
    step = spring.wake(coming, QUARTERS, policy_of({"wake_anchor": choice}), "winter_quarters")
    assert (step.reason, step.anchor, step.source) == (reason, anchor, source)
    assert (step.setting, step.waits_for) == ("wake_anchor", "winter_quarters")
    assert (step.identity, step.counts_from) == (("wake", 2027, 1), QUARTERS)


def test_where_no_frost_is_known_the_chosen_anchor_gives_way() -> None:
    coming = replace(year(2027), spring_freeze_middle=None)
    step = spring.wake(coming, QUARTERS, WAITING, "")
    assert (step.anchor, step.window) == ("planting out", spring.wake_window(coming, DEFAULT))
    assert step.reason.startswith("One to two months before planting out")


def test_nothing_is_woken_before_it_came_in() -> None:
    late = date(2027, 4, 15)
    assert edges(spring.wake(year(2027), late, DEFAULT, "")) == ("04-15", "04-15", "04-25")


def waking(facts: list[Fact], since: date = QUARTERS, **more) -> dict[str, Step]:
    outlook = outlook_of(date(2027, 3, 1), **more)
    steps = winter.waking(life_of(facts), year(2027), since, outlook)
    return {step.kind: step for step in steps}


def test_rest_ends_with_waking_a_new_pot_and_first_growth() -> None:
    steps = waking(inside())
    assert {kind: edges(step) for kind, step in steps.items()} == {
        "wake": ("03-26", "04-10", "04-25"),
        "repot": ("04-10", "04-17", "05-08"),
        "first_growth": ("04-10", "04-24", "05-08"),
    }
    assert [step.waits_for for step in steps.values()] == ["", "wake", "wake"]
    steps = waking(woken())
    assert {kind: edges(step) for kind, step in steps.items()} == {
        "repot": ("04-12", "04-19", "05-10"),
        "first_growth": ("04-12", "04-26", "05-10"),
    }
    assert {step.waits_for for step in steps.values()} == {""}


def test_waking_is_left_out_while_it_is_far() -> None:
    opens = date(2027, 3, 26)
    assert waking(inside(), until=opens - ONE) == {}
    assert set(waking(inside(), until=opens)) == {"wake"}
    assert set(waking(inside(), until=date(2027, 4, 10))) == {"wake", "repot", "first_growth"}
    assert "repot" not in waking(inside(), until=date(2027, 4, 9))


def test_repotting() -> None:
    step = waking(woken())["repot"]
    assert step.reason == (
        "Within 4 weeks of waking, here {2027-04-12}: trim dead and circling roots, shake off old "
        "mix, and pot in fresh mix no deeper than it stood."
    )
    assert (step.identity, step.counts_from) == (("repot", 2027, 1), QUARTERS)
    assert (step.anchor, step.source) == ("waking", "practice")
    done = [*inside(), fact(Kind.REPOTTED, date(2027, 4, 11)), fact(Kind.WOKEN, date(2027, 4, 12))]
    assert "repot" not in waking(done)
    last_year = [fact(Kind.RAISED, date(2026, 3, 1), inside=True, quantity=1),
                 fact(Kind.REPOTTED, date(2026, 4, 1)), *woken()[1:]]  # fmt: skip
    assert "repot" in waking(last_year)
    # A waking that lies before it came in says nothing.
    assert waking(woken(), since=date(2027, 4, 12))["repot"].window.earliest == date(2027, 4, 12)
    assert waking(woken(), since=date(2027, 4, 13))["repot"].window.earliest == date(2027, 4, 13)


def test_hardening_again() -> None:
    step = spring.harden_again(year(2027), QUARTERS, "wake")
    assert (edges(step), step.waits_for) == (("04-27", "05-11", "05-18"), "wake")
    assert step.reason == (
        "Two weeks before replanting, best on {2027-05-25} here. Shade and shelter first; bring it "
        "in below {10 C}."
    )
    assert (step.identity, step.anchor, step.source) == (
        ("harden_again", 2027, 1), "planting out", "hennepin",
    )  # fmt: skip
    assert step.counts_from == QUARTERS
    assert edges(spring.harden_again(year(2027), date(2027, 5, 14), "")) == (
        "05-14", "05-14", "05-18",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        ({}, "It may go back into its bed: watch that for wilting, spots and rot."),
        (
            {"perennial_bed": "move"},
            "Choose a bed where its family has not stood for 3 years.",
        ),
        (
            {"perennial_bed": "move", "rotation_gap": "4"},
            "Choose a bed where its family has not stood for 4 years.",
        ),
    ],
)
def test_replanting_says_what_is_different(chosen: dict[str, str], words: str) -> None:
    step = spring.harden_again(year(2027), QUARTERS, "")
    told = spring.replanting(step, policy_of(chosen))
    assert told == replace(
        step,
        reason=f"{step.reason} A kept plant is in bud or fruit when seedlings are just going out. "
        f"{words}",
    )


# The winter as a whole


def test_in_quarters_by_phase() -> None:
    def kinds(facts: list[Fact]) -> set[str]:
        outlook = outlook_of(date(2026, 10, 2))
        return {s.kind for s in winter.in_quarters(life_of(facts), QUARTERS, year(2027), outlook)}

    assert kinds(inside()) == {"winter_water", "winter_check", "cut_back"}
    first = winter.in_quarters(life_of(inside()), QUARTERS, year(2027), outlook_of(QUARTERS))[0]
    assert (first.number, first.waits_for) == (1, "")
    assert kinds(inside("growing_on")) == {"winter_water", "winter_check", "leach", "cut_back"}
    cut = [*inside(), fact(Kind.CUT_BACK, QUARTERS)]
    assert kinds(cut) == {"winter_water", "winter_check"}
    early = [*young(), fact(Kind.CUT_BACK, LIFT - timedelta(7)), *inside()[2:]]
    assert "cut_back" not in kinds(early)
    early = [*young(), fact(Kind.CUT_BACK, LIFT - timedelta(8)), *inside()[2:]]
    assert "cut_back" in kinds(early)
    taken_over = standing(Phase.RESTING, inside=True)
    assert "cut_back" not in kinds(taken_over)


def test_the_cutback_still_to_do_waits_for_nothing_and_follows_the_settings() -> None:
    outlook = outlook_of(date(2026, 10, 2), cut_height="stump2")
    steps = winter.in_quarters(life_of(inside()), QUARTERS, year(2027), outlook)
    [cut] = [step for step in steps if step.kind == "cut_back"]
    assert (cut.growing_year, cut.waits_for) == (2026, "")
    assert "a stump of {5.1 cm}" in cut.reason
    grows = winter.in_quarters(life_of(inside("growing_on")), QUARTERS, year(2027), outlook)
    assert any(step.source == "practice" and step.kind == "cut_back" for step in grows)


def test_care_in_quarters_ends_by_phase() -> None:
    def last(facts: list[Fact], kind: str) -> date:
        outlook = outlook_of(date(2026, 10, 2))
        steps = winter.in_quarters(life_of(facts), QUARTERS, year(2027), outlook)
        return max(step.window.best for step in steps if step.kind == kind)

    assert date(2027, 4, 18) < last(inside(), "winter_check") <= date(2027, 4, 25)
    assert date(2027, 5, 4) < last(inside("growing_on"), "winter_check") <= date(2027, 5, 11)


def autumn(life: Life, route: Route, today: date = date(2026, 8, 1), **more) -> dict[str, Step]:
    found: dict[str, Step] = {}
    current = season(more["dates"], 2026) if "dates" in more else year()
    for step in winter.from_autumn(life, current, route, outlook_of(today, **more)):
        found.setdefault(step.kind, step)
    return found


MOVING = ["last_pick", "backup", "label_check", "pest_check", "acclimatise", "lift", "cut_back"]


def test_from_autumn_to_replanting() -> None:
    rest = autumn(life_of(young()), Route.RESTING)
    assert list(rest) == [
        *MOVING, "winter_quarters", "winter_water", "winter_check",
        "wake", "repot", "first_growth", "harden_again", "replant",
    ]  # fmt: skip
    waits = {kind: step.waits_for for kind, step in rest.items() if step.waits_for}
    assert waits == {
        "cut_back": "winter_quarters", "winter_quarters": "lift",
        "winter_water": "winter_quarters", "winter_check": "winter_quarters",
        "wake": "winter_quarters", "repot": "wake", "first_growth": "wake",
        "harden_again": "wake", "replant": "harden_again",
    }  # fmt: skip
    assert "A kept plant is in bud" in rest["replant"].reason
    grow = autumn(life_of(young()), Route.GROWING_ON)
    assert list(grow) == [
        *MOVING, "winter_quarters", "winter_water", "winter_check", "leach",
        "harden_again", "replant",
    ]  # fmt: skip
    assert grow["harden_again"].waits_for == "winter_quarters"
    assert grow["cut_back"].source == "practice"
    assert rest["replant"].counts_from == LIFT


@pytest.mark.parametrize(
    ("route", "ends"),
    [(Route.RESTING, date(2027, 4, 25)), (Route.GROWING_ON, date(2027, 5, 11))],
)
def test_the_winter_to_come_ends_by_route(route: Route, ends: date) -> None:
    steps = winter.from_autumn(life_of(young()), year(), route, outlook_of(LIFT))
    last = max(step.window.best for step in steps if step.kind == "winter_check")
    assert ends - timedelta(7) < last <= ends


def test_the_winter_is_left_out_until_it_is_near() -> None:
    life = life_of(young())
    assert "harden_again" in autumn(life, Route.RESTING, until=LIFT)
    assert "harden_again" not in autumn(life, Route.RESTING, until=LIFT - ONE)


def test_replanting_is_never_before_the_lifting() -> None:
    late = life_of([*young(), fact(Kind.LIFTED, date(2027, 5, 20))])
    steps = autumn(late, Route.RESTING, today=date(2027, 5, 20))
    assert edges(steps["replant"]) == ("05-20", "05-25", "06-15")


def test_a_plant_still_at_rest_or_waking_outside_is_woken_when_it_is_brought_in() -> None:
    for phase in (Phase.RESTING, Phase.WAKING):
        steps = autumn(life_of(standing(phase, inside=False)), Route.RESTING)
        assert (steps["wake"].waits_for, steps["repot"].waits_for) == ("winter_quarters", "wake")
        grows = autumn(life_of(standing(phase, inside=False)), Route.GROWING_ON)
        assert grows["winter_water"].reason.startswith("It goes on growing")


@pytest.mark.parametrize("route", [Route.IN_GROUND, Route.RESTING, Route.GROWING_ON])
def test_where_nothing_is_lifted_it_stays_in_the_ground(route: Route) -> None:
    steps = autumn(life_of(young()), route, dates=NO_FROST)
    assert [(kind, step.growing_year) for kind, step in steps.items()] == [("cut_back", 2026)]
    cut = [*young(), fact(Kind.CUT_BACK, steps["cut_back"].window.earliest)]
    assert autumn(life_of(cut), route, dates=NO_FROST) == {}


def test_in_the_ground_of_a_frosty_site() -> None:
    steps = autumn(life_of(young()), Route.IN_GROUND)
    assert list(steps) == [
        "last_pick", "backup", "label_check", "guard", "winter_check", "cut_back", "first_growth",
    ]  # fmt: skip
    assert steps["cut_back"].growing_year == steps["first_growth"].growing_year == 2027
    assert steps["winter_check"].growing_year == 2026


def test_what_is_not_kept_is_picked_and_parted_with() -> None:
    assert list(autumn(life_of(young()), Route.LET_GO)) == ["last_pick", "let_go"]
    assert list(autumn(life_of(young()), Route.CUTTING)) == ["last_pick", "take_cutting"]


@pytest.mark.parametrize(
    ("crop", "dates", "route"),
    [
        ("annuum", None, Route.RESTING),
        ("pubescens", None, Route.RESTING),
        ("annuum", NO_FROST, Route.IN_GROUND),
        ("tomato_cherry", None, Route.LET_GO),
        ("tomato_determinate", NO_FROST, Route.LET_GO),
        ("eggplant", None, Route.LET_GO),
        ("eggplant", NO_FROST, Route.LET_GO),
        ("garlic", None, Route.LET_GO),
    ],
)
def test_only_peppers_are_kept_unless_somebody_decides(crop, dates, route: Route) -> None:
    outlook = outlook_of(NEW_YEAR, crop, dates)
    assert winter.usual_route(outlook.dates, outlook.crop) is route
