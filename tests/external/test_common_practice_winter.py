"""Practices of a seasoned grower from autumn to replanting: common practice, no source.

Where a published source is at hand it is named beside the practice: US hardiness zones (USDA Plant
Hardiness Zone Map 2023), avoiding nights below 50 F (A. Chamness, Sturgis Journal 2021, read
second hand), storage temperatures of fruit (USDA Agriculture Handbook 66, from memory), mulch
before a frost (UC Cooperative Extension Sacramento against University of Florida IFAS).
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.outlook import Ground, SiteEvent, Weather
from lifecycle.care.plan import plan, usual_route
from lifecycle.care.policy import policy_of
from lifecycle.care.site_dates import typed
from lifecycle.care.steps import Step
from lifecycle.care.unseen import not_seen_yet
from lifecycle.handbook import CROPS
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.sites import typed_site
from tests.life.facts import fact, life_of

OUT = date(2026, 5, 25)
COLD = typed_site()


def zone(half_zone: str):
    dates = typed(
        half_zone=half_zone, last_freeze="02-10", first_freeze="12-10", warm_from="04-01",
        cool_from="11-01", southern=False, year_starts_in=1,
    )  # fmt: skip
    assert dates is not None
    return dates


def summer() -> list[Fact]:
    return [
        fact(Kind.RAISED, date(2026, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]


def rested() -> list[Fact]:
    return [
        *summer(),
        fact(Kind.LIFTED, date(2026, 9, 27)),
        fact(Kind.CUT_BACK, date(2026, 10, 10)),
        fact(Kind.WINTER_QUARTERS, date(2026, 9, 28), inside=True, choice="resting"),
    ]


def grown_on() -> list[Fact]:
    return [
        *summer(),
        fact(Kind.LIFTED, date(2026, 9, 27)),
        fact(Kind.WINTER_QUARTERS, date(2026, 9, 28), inside=True, choice="growing_on"),
    ]


def steps(facts: list[Fact], today: date, dates=COLD, crop: str = "annuum", **more):
    found: dict[str, Step] = {}
    for step in plan(life_of(facts), crop, dates, today, **more):
        found.setdefault(step.kind, step)
    return found


@pytest.mark.parametrize(
    ("half_zone", "route"),
    [
        ("5b", Route.RESTING), ("8b", Route.RESTING),
        ("9a", Route.IN_GROUND), ("9b", Route.IN_GROUND),
        ("10a", Route.IN_GROUND), ("11b", Route.IN_GROUND),
    ],
)  # fmt: skip
def test_zones_9_to_11_may_keep_peppers_in_the_ground_colder_ones_bring_them_in(
    half_zone: str, route: Route
) -> None:
    assert usual_route(zone(half_zone), CROPS["annuum"]) is route
    assert ("lift" in steps(summer(), OUT, zone(half_zone))) is (route is Route.RESTING)


def test_zone_9_keeps_them_with_some_protection() -> None:
    watch = steps(summer(), OUT, zone("9a"))["winter_check"]
    assert "with covers on frost nights" in watch.reason
    assert "covers, pegs and thermometer are at hand" in watch.reason


def test_a_kept_plant_is_in_bud_or_fruit_when_seedlings_go_out() -> None:
    replant = steps(rested(), date(2027, 5, 1))["replant"]
    assert "A kept plant is in bud or fruit when seedlings are just going out." in replant.reason


def test_after_a_hard_winter_with_frost_and_hail_one_waits_before_calling_it_dead() -> None:
    facts = [
        *summer(),
        fact(Kind.REVIEWED, date(2026, 9, 1), choice="in_ground"),
        fact(Kind.DAMAGE, date(2027, 1, 12), choice="frost"),
    ]
    hail = SiteEvent(Weather.HAIL, date(2027, 4, 2), date(2027, 4, 2))
    usual = steps(facts[:3], date(2027, 5, 1))["first_growth"]
    slow = steps(facts, date(2027, 5, 1), events=(hail,))["first_growth"]
    assert "After frost and hail it comes back slowly: wait until" in slow.reason
    assert slow.window.latest - usual.window.latest == timedelta(28)


def test_a_plant_at_rest_past_its_first_growth_is_late_not_lost() -> None:
    life = life_of(rested())
    wake = steps(rested(), date(2027, 4, 1))["wake"]
    assert not_seen_yet(life, COLD, wake.window.latest + timedelta(29))
    assert "first_growth" in steps(rested(), wake.window.latest + timedelta(60))


def test_seed_and_cuttings_are_a_back_up_before_winter() -> None:
    step = steps(summer(), OUT)["backup"]
    assert "no survival rate is published" in step.reason
    for kind in (Kind.SEED_SAVED, Kind.CUTTING_TAKEN):
        done = [*summer(), fact(kind, date(2026, 9, 12))]
        assert "backup" not in steps(done, date(2026, 9, 13))


def test_the_last_pick_comes_before_the_freeze_and_fruit_ripens_indoors() -> None:
    pick = steps(summer(), OUT)["last_pick"]
    assert pick.window.latest < date(2026, 9, 28)
    assert "It ripens indoors" in pick.reason
    # Peppers are chilled below 45 F in storage (USDA Agriculture Handbook 66, from memory).
    assert "below {7.22 C} it is chilled" in pick.reason


def test_shade_for_a_week_before_moving_in() -> None:
    plan_ = steps(summer(), OUT)
    assert plan_["lift"].window.best - plan_["acclimatise"].window.best == timedelta(7)


def test_pests_are_looked_for_weeks_ahead_and_tools_dipped_between_plants() -> None:
    plan_ = steps(summer(), OUT)
    ahead = plan_["lift"].window.best - plan_["pest_check"].window.best
    assert timedelta(14) <= ahead <= timedelta(28)
    for kind in ("cut_back", "repot"):
        assert "tools" in STEP_RULES[kind].cautions


def test_labels_are_checked_before_leaves_drop_and_a_faded_one_is_renewed() -> None:
    plan_ = steps(summer(), OUT)
    assert plan_["label_check"].window.latest < plan_["lift"].window.best
    faded = [*summer(), fact(Kind.IN_DOUBT, date(2026, 7, 1), choice="faded")]
    assert {"settle_identity", "renew_label"} <= set(steps(faded, date(2026, 7, 2)))


def test_two_plants_that_may_have_swapped_are_told_apart_by_fruit() -> None:
    doubted = fact(Kind.IN_DOUBT, date(2026, 6, 1), choice="swapped")
    waiting = steps([*summer(), doubted], date(2026, 6, 2))["settle_identity"]
    assert waiting.window.earliest > date(2026, 7, 1)
    picked = fact(Kind.PICKED, date(2026, 7, 10))
    known = steps([*summer(), doubted, picked], date(2026, 7, 10))["settle_identity"]
    assert known.window.earliest <= date(2026, 7, 10)


def test_repotting_at_waking_with_root_pruning_and_fresh_mix() -> None:
    plan_ = steps(rested(), date(2027, 4, 1))
    assert plan_["repot"].waits_for == "wake"
    assert plan_["repot"].window.earliest == plan_["wake"].window.best
    assert "trim dead and circling roots" in plan_["repot"].reason
    assert "fresh mix" in plan_["repot"].reason
    assert "repot" not in steps(grown_on(), date(2026, 10, 1), until=date(2027, 6, 1))


def test_salts_are_leached_from_pots_that_grow_on() -> None:
    leach = steps(grown_on(), date(2026, 10, 1))["leach"]
    assert leach.window.best - date(2026, 9, 28) == timedelta(60)
    assert "leach" not in steps(rested(), date(2026, 10, 12), until=date(2027, 6, 1))


def test_a_plant_that_grows_on_wants_light() -> None:
    dim = steps(grown_on(), date(2026, 10, 1))["winter_check"]
    bright = steps(grown_on(), date(2026, 10, 1), ground=Ground(bright=True))["winter_check"]
    assert "a sunny window, or a lamp for 14 to 16 hours a day" in dim.reason
    assert "lamp" not in bright.reason


def test_heat_wave_hail_and_flood_change_the_plan_of_a_site() -> None:
    today = date(2026, 6, 17)
    usual = steps(summer(), today)["first_feed"].window.best
    for weather, call, ended in (
        (Weather.HEAT, "heat_water", None),
        (Weather.HAIL, "look_over", today),
        (Weather.FLOOD, "look_over", today),
    ):
        found = steps(summer(), today, events=(SiteEvent(weather, today, ended),))
        assert call in found
        assert found["first_feed"].window.best > usual
    seedling = summer()[:1]
    heat = SiteEvent(Weather.HEAT, date(2026, 5, 24))
    held = steps(seedling, OUT, events=(heat,))["plant_out"]
    assert held.window.earliest == date(2026, 5, 31)


def test_burrowing_and_gnawing_animals_are_kept_from_beds_in_winter() -> None:
    kept = [*summer(), fact(Kind.REVIEWED, date(2026, 9, 1), choice="in_ground")]
    guard = steps(kept, date(2026, 9, 2))["guard"]
    assert "voles nest under mulch" in guard.reason
    wired = steps(kept, date(2026, 9, 2), ground=Ground(wire=True))["guard"]
    assert "only stems are open to them" in wired.reason


def test_mulch_before_a_frost_goes_by_what_is_to_be_saved() -> None:
    def reason(choice: str) -> str:
        dates = replace(zone("9a"), policy=policy_of({"mulch_and_frost": choice}))
        return steps(summer(), OUT, dates)["winter_check"].reason

    assert "rake mulch away the day before" in reason("save_top")
    assert "To save the crown from a hard freeze" in reason("save_crown")


@pytest.mark.parametrize("crop", ["tomato_indeterminate", "eggplant"])
def test_tomatoes_and_eggplants_are_cleared_unless_somebody_keeps_them(crop: str) -> None:
    # Column advice is that they are seldom worth keeping; a weak source.
    assert "let_go" in steps(summer(), OUT, crop=crop)
    kept = [*summer(), fact(Kind.REVIEWED, date(2026, 9, 1), choice="resting")]
    assert "lift" in steps(kept, date(2026, 9, 2), crop=crop)
