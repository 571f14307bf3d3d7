"""A plant day by day through two years and more, each step done on its best day.

On every day the walker itself checks that no identity comes twice, that nothing done comes
back, that nothing waits for a step the plan does not hold, and that nothing is left late.
"""

from datetime import date, timedelta
from functools import cache
from itertools import pairwise

import pytest

from lifecycle.life.phases import Phase, Route
from tests.care.sites import REAL, site
from tests.care.walker import Walk

SITES = (*REAL, "all year warm", "all year mild", "typed")
KEPT = (Route.IN_GROUND, Route.RESTING, Route.GROWING_ON)

RAISED = ["sow", "emergence", "pot_up", "harden", "plant_out", "first_feed", "feed", "review"]
MOVED_IN = {
    Route.RESTING: ["pest_check", "lift", "winter_quarters", "cut_back"],
    Route.GROWING_ON: ["pest_check", "lift", "cut_back", "winter_quarters"],
}
"""A plant at rest is cut back after its leaves drop, one that grows on at potting."""
WINTER = {"winter_check", "winter_water"}
SIDE = {
    *("water_in", "label", "mulch", "stake", "stake_stout", "tie", "pinch", "flowers_off"),
    *("harvest", "last_pick", "backup", "label_check", "acclimatise", "guard", "shade", "unshade"),
    *("pollinate", "leach", "repot", "first_growth"),
}
"""What stands beside the steps that lead from one stage of life to the next."""


@cache
def lived(name: str, route: Route) -> Walk:
    dates = site(name)
    began = date(2025, 7, 5) if dates.southern else date(2025, 1, 5)
    return Walk(dates, began, route).walk(1000)


def backbone(walk: Walk, year: int) -> list[str]:
    """The kinds of step done in a year, without the routines of winter and what stands beside."""
    return [kind for kind in walk.kinds_of(year) if kind not in WINTER | SIDE]


def years_of(walk: Walk) -> tuple[int, int]:
    first = next(done.step.growing_year for done in walk.done if done.kind == "plant_out")
    return first, first + 1


@pytest.mark.parametrize("route", KEPT)
@pytest.mark.parametrize("name", SITES)
def test_every_step_of_a_kept_plant_is_done_once_and_in_time(name: str, route: Route) -> None:
    walk = lived(name, route)
    identities = [done.step.identity for done in walk.done]
    assert len(set(identities)) == len(identities)
    for done in walk.done:
        assert done.step.window.earliest <= done.day <= done.step.window.latest
    assert walk.life().alive
    assert (walk.day - walk.done[-1].day) < timedelta(70)


@pytest.mark.parametrize("route", [Route.RESTING, Route.GROWING_ON])
@pytest.mark.parametrize("name", [*REAL, "typed"])
def test_a_lifted_plant_goes_through_the_year_in_this_order(name: str, route: Route) -> None:
    walk = lived(name, route)
    first, second = years_of(walk)
    assert backbone(walk, first) == [*RAISED, *MOVED_IN[route]]
    woken = ["wake"] if route is Route.RESTING else []
    again = backbone(walk, second)
    assert again[: len(woken) + 4] == [*woken, "harden_again", "replant", "first_feed", "feed"]
    assert again[-5:] == ["review", *MOVED_IN[route]]
    assert set(walk.kinds_of(first)) >= WINTER


@pytest.mark.parametrize("name", REAL)
def test_a_plant_in_the_ground_is_watched_in_winter_and_cut_after_the_frost(name: str) -> None:
    walk = lived(name, Route.IN_GROUND)
    first, second = years_of(walk)
    assert backbone(walk, first) == RAISED
    assert "winter_check" in walk.kinds_of(first)
    assert "winter_water" not in walk.kinds_of(first)
    assert backbone(walk, second) == ["cut_back", "first_feed", "feed", "review"]


@pytest.mark.parametrize("name", ["all year warm", "all year mild"])
@pytest.mark.parametrize("route", KEPT)
def test_where_nights_are_mild_all_year_nothing_is_lifted(name: str, route: Route) -> None:
    walk = lived(name, route)
    first, second = years_of(walk)
    assert backbone(walk, first) == [*RAISED, "cut_back"]
    assert backbone(walk, second)[:4] == ["first_feed", "feed", "review", "cut_back"]
    assert {done.kind for done in walk.done}.isdisjoint({"lift", "winter_quarters", "wake"})


@pytest.mark.parametrize("name", SITES)
def test_feeding_never_stops_for_long_while_it_should_go_on(name: str) -> None:
    walk = lived(name, Route.IN_GROUND)
    fed = [done.day for done in walk.done if done.kind in ("first_feed", "feed")]
    gaps = [later - before for before, later in pairwise(fed)]
    assert min(gaps) >= timedelta(14)
    if not site(name).frosty:
        assert max(gaps) <= timedelta(28)


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("route", [Route.LET_GO, Route.CUTTING])
def test_a_plant_let_go_ends_in_its_first_year(name: str, route: Route) -> None:
    walk = lived(name, route)
    first, _ = years_of(walk)
    cutting = ["take_cutting"] if route is Route.CUTTING else []
    assert backbone(walk, first) == [*RAISED, *cutting, "let_go"]
    assert walk.life().phase is Phase.ENDED


@pytest.mark.parametrize("name", ["champion", "brussels", "cordoba", "tunis", "typed"])
def test_the_calendar_keeps_away_from_the_nights_that_hurt(name: str) -> None:
    walk = lived(name, Route.RESTING)
    day = {(done.kind, done.step.growing_year): done.day for done in walk.done}
    first, second = years_of(walk)
    dates = site(name)
    for year, out in ((first, "plant_out"), (second, "replant")):
        planted, lifted = day[out, year], day["lift", year]
        if dates.last_freeze_risk is not None:
            assert (planted.month, planted.day) >= dates.last_freeze_risk or planted.year > year
        assert timedelta(60) < lifted - planted < timedelta(300)
        assert day["winter_quarters", year] - lifted <= timedelta(7)
        assert timedelta(0) <= day["cut_back", year] - lifted <= timedelta(28)
    assert timedelta(30) <= day["replant", second] - day["wake", second] <= timedelta(60)
    assert day["replant", second] - day["harden_again", second] == timedelta(14)


def test_two_lives_with_the_same_entries_get_the_same_plan() -> None:
    one, other = (
        lived("brussels", Route.RESTING),
        Walk(site("brussels"), date(2025, 1, 5), Route.RESTING).walk(400),
    )
    assert one.done[: len(other.done)] == other.done
