"""Before the winter: back-up, label, last pick and clearing."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care import autumn
from lifecycle.care.seasons import season
from lifecycle.care.steps import Step
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.summers import outlook_of, young
from tests.care.winters import FREEZE, LIFT, NO_FROST, edges, lifted, out, year
from tests.life.facts import life_of

TODAY = date(2026, 8, 20)
ONE = timedelta(1)


def before(life: Life, route: Route = Route.RESTING, crop: str = "annuum", **more) -> list[Step]:
    today = more.pop("today", TODAY)
    return autumn.before_winter(life, year(), route, outlook_of(today, crop, **more))


def named(steps: list[Step], kind: str) -> Step:
    [step] = [step for step in steps if step.kind == kind]
    return step


# What ends a season


@pytest.mark.parametrize(
    ("route", "ends"),
    [
        (Route.RESTING, LIFT),
        (Route.GROWING_ON, LIFT),
        (Route.LET_GO, LIFT),
        (Route.CUTTING, LIFT),
        (Route.IN_GROUND, FREEZE),
    ],
)
def test_a_season_ends_by_route(route: Route, ends: date) -> None:
    assert autumn.season_ends(year(), route, outlook_of(TODAY)) == ends


def test_a_tomato_stands_until_the_freeze() -> None:
    outlook = outlook_of(TODAY, "tomato_indeterminate")
    assert autumn.season_ends(year(), Route.LET_GO, outlook) == FREEZE
    assert edges(named(autumn.parting(life_of(young()), year(), Route.LET_GO, outlook), "let_go"))[
        1:
    ] == ("09-28", "10-12")
    # An eggplant is chilled before that.
    assert autumn.season_ends(year(), Route.LET_GO, outlook_of(TODAY, "eggplant")) == LIFT
    late = replace(year(), first_freeze_risk=LIFT - ONE)
    assert autumn.clearing(late, outlook).best == LIFT
    assert autumn.clearing(replace(year(), first_freeze_risk=None), outlook) == year().autumn


def test_the_clearing_of_a_tomato_is_never_over_before_its_lifting_would_be() -> None:
    outlook = outlook_of(TODAY, "tomato_indeterminate")
    lift = replace(year().lift, latest=date(2026, 10, 20))
    assert autumn.clearing(replace(year(), lift=lift), outlook).latest == date(2026, 10, 20)
    lift = replace(year().lift, latest=date(2026, 10, 12))
    assert autumn.clearing(replace(year(), lift=lift), outlook).latest == date(2026, 10, 12)


def test_without_lifting_the_freeze_ends_it_and_without_a_freeze_nothing() -> None:
    never = replace(year(), lift=None)
    assert autumn.season_ends(never, Route.RESTING, outlook_of(TODAY)) == FREEZE
    assert autumn.season_ends(never, Route.LET_GO, outlook_of(TODAY)) == FREEZE
    free = season(NO_FROST, 2026)
    for route in Route:
        outlook = outlook_of(TODAY, dates=NO_FROST)
        assert autumn.season_ends(free, route, outlook) is None
        assert autumn.before_winter(life_of(young()), free, route, outlook) == []


# The last pick


def test_the_last_pick_before_lifting() -> None:
    pick = named(before(life_of(young())), "last_pick")
    assert edges(pick) == ("09-20", "09-24", "09-26")
    assert pick.identity == ("last_pick", 2026, 1)
    assert pick.counts_from == pick.window.earliest
    assert (pick.anchor, pick.waits_for, pick.setting) == ("the end of the season", "", "")
    assert pick.reason == (
        "Its season ends best on {2026-09-27} here: pick all that is full-grown, green too. "
        "It ripens indoors at {18.33 C} to {21.11 C}. Stored below {7.22 C} it is chilled."
    )
    assert pick.source == "hb66"


def test_the_last_pick_before_the_freeze_is_another_one() -> None:
    pick = named(before(life_of(young()), Route.IN_GROUND), "last_pick")
    assert edges(pick) == ("09-21", "09-25", "09-27")
    assert pick.number == 2
    assert pick.reason.startswith("One year in ten has a freeze by {2026-09-28}: pick all")


@pytest.mark.parametrize(
    ("crop", "words"),
    [
        (
            "tomato_cherry",
            "It ripens indoors at {18.33 C} to {21.11 C}. Stored below {12.78 C} it is chilled.",
        ),
        ("eggplant", "It does not ripen further. Stored below {10.00 C} it is chilled."),
    ],
)
def test_what_becomes_of_the_fruit_goes_by_the_crop(crop: str, words: str) -> None:
    pick = named(before(life_of(young()), Route.LET_GO, crop), "last_pick")
    assert pick.reason.endswith(f"green too. {words}")


def test_what_is_lifted_has_no_last_pick() -> None:
    assert "last_pick" not in {step.kind for step in before(life_of(lifted()))}


def test_a_round_in_the_last_week_was_the_last_pick() -> None:
    opens = LIFT - timedelta(7)
    picked = before(life_of(out((Kind.PICKED, opens))))
    assert "last_pick" not in {step.kind for step in picked}
    assert named(before(life_of(out((Kind.PICKED, opens - ONE)))), "last_pick").number == 1


@pytest.mark.parametrize(("kind", "days"), [("last_pick", 7), ("backup", 28), ("label_check", 21)])
def test_what_opens_later_than_is_looked_ahead_is_left_out(kind: str, days: int) -> None:
    opens = LIFT - timedelta(days)
    assert named(before(life_of(young()), until=opens), kind).window.earliest == opens
    assert kind not in {step.kind for step in before(life_of(young()), until=opens - ONE)}


# The back-up and the label


def test_the_back_up_of_a_kept_plant() -> None:
    step = named(before(life_of(young())), "backup")
    assert edges(step) == ("08-30", "09-13", "09-26")
    assert step.identity == ("backup", 2026, 1)
    assert (step.anchor, step.source) == ("the end of the season", "practice")
    assert step.reason == (
        "Before {2026-09-27} save ripe seed of what you keep, or take a cutting: no survival rate "
        "is published for kept plants, so plan on losses. Seed of plants that flowered side by "
        "side may not come true; take none from one that looks sick."
    )


@pytest.mark.parametrize("kind", [Kind.SEED_SAVED, Kind.CUTTING_TAKEN])
def test_seed_or_a_cutting_is_a_back_up_whatever_is_decided_later(kind: Kind) -> None:
    opens = LIFT - timedelta(28)
    for route in (Route.RESTING, Route.IN_GROUND):
        kinds = {step.kind for step in before(life_of(out((kind, opens))), route)}
        assert "backup" not in kinds
        early = life_of(out((kind, opens - ONE)))
        assert named(before(early, route), "backup").counts_from == opens


def test_the_label_is_read_while_leaves_still_tell() -> None:
    step = named(before(life_of(young())), "label_check")
    assert edges(step) == ("09-06", "09-17", "09-26")
    assert step.identity == ("label_check", 2026, 1)
    assert (step.anchor, step.source) == ("the end of the season", "practice")
    assert step.reason == (
        "Before {2026-09-27}, while leaves and fruit still show which plant it is: read its label, "
        "write a fresh one, and tie it to the stem. Bare plants all look alike."
    )


def test_a_label_made_in_those_weeks_will_do() -> None:
    opens = LIFT - timedelta(21)
    for route in (Route.GROWING_ON, Route.IN_GROUND):
        made = life_of(out((Kind.LABELLED, opens)))
        assert "label_check" not in {step.kind for step in before(made, route)}
        early = life_of(out((Kind.LABELLED, opens - ONE)))
        assert named(before(early, route), "label_check").counts_from == opens


def test_the_label_of_a_plant_in_doubt_waits_for_the_doubt() -> None:
    doubted = life_of(out((Kind.IN_DOUBT, TODAY, "lost")))
    assert "label_check" not in {step.kind for step in before(doubted)}


def test_where_nothing_is_lifted_all_counts_from_the_freeze() -> None:
    never = replace(year(), lift=None)
    steps = autumn.before_winter(life_of(young()), never, Route.RESTING, outlook_of(TODAY))
    assert named(steps, "backup").counts_from == FREEZE - timedelta(28)
    assert named(steps, "label_check").counts_from == FREEZE - timedelta(21)


@pytest.mark.parametrize("route", [Route.LET_GO, Route.CUTTING])
def test_what_is_not_kept_has_only_its_last_pick(route: Route) -> None:
    assert [step.kind for step in before(life_of(young()), route)] == ["last_pick"]


def test_a_kept_tomato_is_backed_up_as_well() -> None:
    kinds = {step.kind for step in before(life_of(young()), Route.RESTING, "tomato_cherry")}
    assert kinds == {"last_pick", "backup", "label_check"}


# Clearing


@pytest.mark.parametrize(
    ("crop", "why"),
    [
        ("annuum", "Not kept: save ripe seed, then clear it."),
        (
            "eggplant",
            "Tomatoes and eggplants would live on in warmth, but are seldom worth their winter "
            "space: save ripe seed, then clear it. Decide otherwise to keep it.",
        ),
    ],
)
def test_clearing_says_why(crop: str, why: str) -> None:
    outlook = outlook_of(TODAY, crop)
    [step] = autumn.parting(life_of(young()), year(), Route.LET_GO, outlook)
    assert (step.kind, step.reason, step.source) == ("let_go", why, "practice")
    assert edges(step) == ("09-13", "09-27", "09-27")
    assert (step.growing_year, step.number, step.anchor) == (2026, 1, "the winter")
    assert step.counts_from == date(2026, 9, 13) - timedelta(60)


def test_cuttings_come_first_and_then_the_parent_goes() -> None:
    outlook = outlook_of(TODAY)
    [cutting] = autumn.parting(life_of(young()), year(), Route.CUTTING, outlook)
    assert (cutting.kind, edges(cutting)) == ("take_cutting", ("08-23", "09-13", "09-27"))
    assert cutting.reason == ("Kept as a cutting: take it from sound young wood before the cold.")
    assert cutting.counts_from == date(2026, 8, 23) - timedelta(60)
    opens = date(2026, 8, 23) - timedelta(30)
    taken = life_of(out((Kind.CUTTING_TAKEN, opens)))
    [clear] = autumn.parting(taken, year(), Route.CUTTING, outlook)
    assert (clear.kind, edges(clear)) == ("let_go", ("09-13", "09-27", "09-27"))
    assert clear.reason == "Its cuttings are taken: clear the parent before the frost."
    early = life_of(out((Kind.CUTTING_TAKEN, opens - ONE)))
    assert autumn.parting(early, year(), Route.CUTTING, outlook) == [cutting]


# Moving in
