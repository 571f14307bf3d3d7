"""The move into the room: pest check, shade, lifting, cutting back."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care import autumn
from lifecycle.care.moving_in import moving_in
from lifecycle.care.steps import Step
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.summers import outlook_of, young
from tests.care.winters import LIFT, TYPED, edges, lifted, out, year
from tests.life.facts import fact, life_of

TODAY = date(2026, 8, 20)
ONE = timedelta(1)


def before(life: Life, route: Route = Route.RESTING, crop: str = "annuum", **more) -> list[Step]:
    today = more.pop("today", TODAY)
    return autumn.before_winter(life, year(), route, outlook_of(today, crop, **more))


def named(steps: list[Step], kind: str) -> Step:
    [step] = [step for step in steps if step.kind == kind]
    return step


# What ends a season


def moved(life: Life, route: Route = Route.RESTING, **more) -> dict[str, Step]:
    outlook = outlook_of(TODAY, **more)
    steps = moving_in(life, year(), year().lift, route, outlook)
    assert len({step.kind for step in steps}) == len(steps)
    return {step.kind: step for step in steps}


def test_the_way_in() -> None:
    steps = moved(life_of(young()))
    assert {kind: edges(step) for kind, step in steps.items()} == {
        "pest_check": ("08-30", "09-13", "09-24"),
        "acclimatise": ("09-17", "09-20", "09-24"),
        "lift": ("09-13", "09-27", "09-27"),
        "cut_back": ("10-04", "10-11", "10-25"),
        "winter_quarters": ("09-27", "09-27", "09-27"),
    }
    assert {kind: step.waits_for for kind, step in steps.items()} == {
        "pest_check": "",
        "acclimatise": "",
        "lift": "",
        "cut_back": "winter_quarters",
        "winter_quarters": "lift",
    }
    assert all(step.number == 1 and step.growing_year == 2026 for step in steps.values())
    assert {step.anchor for step in steps.values()} == {"lifting", "cool nights"}


def test_the_pest_check_is_for_a_plant_not_yet_lifted_or_checked() -> None:
    step = moved(life_of(young()))["pest_check"]
    assert step.reason == (
        "Two to four weeks before lifting, best on {2026-09-27} here: look under the leaves, hose "
        "them off, treat what is found, and leave heavily infested plants out."
    )
    assert (step.source, step.counts_from) == ("kyweb", LIFT - timedelta(35))
    checked = life_of(out((Kind.PEST_CHECK, LIFT - timedelta(35), "clean")))
    assert "pest_check" not in moved(checked)
    early = life_of(out((Kind.PEST_CHECK, LIFT - timedelta(36), "clean")))
    assert "pest_check" in moved(early)


def test_a_week_in_shade_before_lifting() -> None:
    step = moved(life_of(young()))["acclimatise"]
    assert step.reason == (
        "A week in shade before lifting on {2026-09-27}, pots under a tree, beds under a cloth: "
        "indoors has far less light."
    )
    assert (step.source, step.counts_from) == ("sturgis", LIFT - timedelta(17))
    growing = moved(life_of(young()), Route.GROWING_ON)["acclimatise"]
    assert growing.reason.endswith("far less light, and it is to go on growing.")
    done = life_of(out((Kind.ACCLIMATISED, LIFT - timedelta(17))))
    assert "acclimatise" not in moved(done)
    early = life_of(out((Kind.ACCLIMATISED, LIFT - timedelta(18))))
    assert "acclimatise" in moved(early)


def test_lifting_names_the_zone_and_the_pot() -> None:
    step = moved(life_of(young()))["lift"]
    assert step.reason == (
        "Night lows here average less than {10.00 C} after {2026-09-27}. One year in ten has a "
        "freeze by {2026-09-28}. Zone 5b is too cold to keep peppers in the ground: one that comes "
        "back is a bonus. Keep a good ball of roots; pot in fresh mix, no deeper than it stood."
    )
    assert (step.source, step.counts_from) == ("sturgis", date(2026, 5, 25))
    unknown = moved(life_of(young()), dates=replace(TYPED, extreme_min_c=None))["lift"]
    assert "{2026-09-28}. Keep a good ball" in unknown.reason
    taken_over = life_of(
        [fact(Kind.INHERITED, date(2026, 6, 1), inside=False, quantity=1, choice="growing")]
    )
    assert moved(taken_over)["lift"].counts_from == date(2026, 6, 1)


def test_what_is_lifted_is_cut_and_brought_in() -> None:
    steps = moved(life_of(lifted()))
    assert set(steps) == {"cut_back", "winter_quarters"}
    assert steps["winter_quarters"].waits_for == ""
    assert steps["cut_back"].waits_for == "winter_quarters"
    cut = life_of([*lifted(), fact(Kind.CUT_BACK, LIFT)])
    assert set(moved(cut)) == {"winter_quarters"}
    assert "cut_back" not in moved(life_of(out((Kind.CUT_BACK, LIFT - timedelta(7)))))
    assert "cut_back" in moved(life_of(out((Kind.CUT_BACK, LIFT - timedelta(8)))))


@pytest.mark.parametrize(
    ("height", "time", "reason", "source", "window", "waits"),
    [
        (
            "y4", "leaf_drop",
            "Indoors, once less water has let the leaves drop, cut to about {10.2 cm}, leaving a "
            "Y, and take off all fruit. Others leave a stump of {5.1 cm}, or cut at potting.",
            "bucks", ("10-04", "10-11", "10-25"), "winter_quarters",
        ),
        (
            "stump2", "at_potting",
            "At potting, cut to a stump of {5.1 cm}, and take off all fruit. Others leave "
            "{10.2 cm} with a Y, or wait until the leaves have dropped indoors.",
            "muncie", ("09-27", "09-27", "10-04"), "lift",
        ),
    ],
)  # fmt: skip
def test_height_and_time_of_the_cut_are_settings(
    height: str, time: str, reason: str, source: str, window: tuple, waits: str
) -> None:
    step = moved(life_of(young()), cut_height=height, cut_time=time)["cut_back"]
    assert (step.reason, step.source, step.setting) == (reason, source, "cut_time")
    assert (edges(step), step.waits_for) == (window, waits)
    assert step.counts_from == LIFT - timedelta(7)


def test_a_plant_that_grows_on_is_only_shortened() -> None:
    for choice in ("leaf_drop", "at_potting"):
        step = moved(life_of(young()), Route.GROWING_ON, cut_time=choice)["cut_back"]
        assert edges(step) == ("09-27", "09-27", "10-11")
        assert (step.source, step.setting, step.waits_for) == ("practice", "", "lift")
        assert step.reason == (
            "It goes on growing indoors: shorten long shoots to fit the space and take off damaged "
            "leaves. A resting plant would be cut much harder."
        )


def test_the_room_by_route() -> None:
    rest = moved(life_of(young()))["winter_quarters"]
    assert rest.reason == (
        "Before the nights that hurt: a room at {10.00 C} to {15.56 C}, with a little light. "
        "Never below {10.00 C}. Keep it 2 to 4 weeks apart from house plants."
    )
    assert (rest.source, rest.counts_from) == ("muncie", LIFT)
    grow = moved(life_of(young()), Route.GROWING_ON)["winter_quarters"]
    assert grow.reason.startswith(
        "Before the nights that hurt: a room at {15.56 C} to {21.11 C}, bright."
    )
    assert grow.source == "bucks"


def test_it_is_in_within_a_week_and_before_the_freeze() -> None:
    early = life_of([*young(), fact(Kind.LIFTED, date(2026, 9, 1))])
    assert edges(moved(early)["winter_quarters"]) == ("09-01", "09-01", "09-08")
    late = life_of([*young(), fact(Kind.LIFTED, date(2026, 9, 25))])
    assert edges(moved(late)["winter_quarters"]) == ("09-25", "09-25", "09-27")
    free = replace(year(), first_freeze_risk=None)
    steps = moving_in(life_of(lifted()), free, free.lift, Route.RESTING, outlook_of(TODAY))
    assert edges(named(steps, "winter_quarters")) == ("09-27", "09-27", "10-04")


def test_nothing_of_it_is_built_that_opens_too_late() -> None:
    opens = LIFT - timedelta(28)
    assert set(moved(life_of(young()), until=opens)) >= {"pest_check", "lift"}
    assert moved(life_of(young()), until=opens - ONE) == {}
    # What is lifted already is not left out, whatever the season's own day.
    early = life_of([*young(), fact(Kind.LIFTED, date(2026, 8, 10))])
    assert moved(early, until=date(2026, 8, 20))
    wide = replace(year(), lift=replace(year().lift, earliest=date(2026, 8, 1)))
    outlook = outlook_of(TODAY, until=date(2026, 8, 1))
    assert moving_in(life_of(young()), wide, wide.lift, Route.RESTING, outlook)
