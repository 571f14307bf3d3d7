"""A bed that must be clear by a day, or takes no perennials: what that makes of a plant's year."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.bed_rules import ANCHOR, BedRules, in_brackets, in_words
from lifecycle.care.cleared_beds import allowed, bound
from lifecycle.care.outlook import Ground, SiteEvent, Weather
from lifecycle.care.plan import plan
from lifecycle.care.seasons import closed, season
from lifecycle.care.steps import Window
from lifecycle.handbook import SOURCES
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.cleared import BENCH, OCTOBER, edges, first_of, planned, set_out
from tests.care.sites import mirrored, site, typed_site
from tests.care.summers import OUT, outlook_of, stood_out, young
from tests.care.winters import lifted
from tests.life.facts import fact, life_of

TYPED = typed_site()
WARM = site("all year warm")
NINE = typed_site(
    half_zone="9b", last_freeze="02-10", first_freeze="12-10", warm_from="04-01", cool_from="11-01"
)
EARLY_OCTOBER = BedRules(clear_by=(9, 20))
NO_PERENNIALS = BedRules(perennials_in_ground=False)


# The window


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        # Sooner than the rule asks: it stays, cut off at the day.
        (((9, 1), (9, 15), (10, 6)), ((9, 1), (9, 15), (10, 6))),
        (((9, 1), (10, 8), (10, 20)), ((9, 1), (10, 8), (10, 15))),
        # Later: a week before the day, and open two weeks before that.
        (((10, 18), (11, 1), (11, 22)), ((9, 24), (10, 8), (10, 15))),
        (((10, 1), (10, 9), (10, 14)), ((9, 24), (10, 8), (10, 14))),
        (((9, 20), (10, 9), (10, 14)), ((9, 20), (10, 8), (10, 14))),
    ],
)
def test_the_earlier_of_season_and_rule_counts(window: tuple, expected: tuple) -> None:
    days = Window(*(date(2026, *day) for day in window))
    found = closed(days, date(2026, 10, 15), date(2026, 5, 1))
    assert found == Window(*(date(2026, *day) for day in expected))


def test_nothing_of_it_lies_before_the_planting() -> None:
    out = date(2026, 10, 10)
    days = Window(date(2026, 11, 1), date(2026, 11, 2), date(2026, 11, 3))
    assert closed(days, date(2026, 10, 15), out) == Window(out, out, date(2026, 10, 15))


@pytest.mark.parametrize(
    ("day", "by"),
    [
        ((10, 15), date(2026, 10, 15)),
        ((5, 25), date(2026, 5, 25)),
        # It follows the planting on 25 May.
        ((5, 24), date(2027, 5, 24)),
        ((1, 2), date(2027, 1, 2)),
    ],
)
def test_a_day_belongs_to_the_season_whose_planting_it_follows(day: tuple, by: date) -> None:
    outlook = outlook_of(OUT, ground=Ground(rules=BedRules(clear_by=day)))
    assert bound(season(TYPED, 2026), life_of(young()), outlook).clear_by == by


def test_in_the_south_too() -> None:
    south = mirrored(TYPED)
    out = season(south, 2026).plant_out.best
    assert (out.year, out.month) == (2026, 11)
    ground = Ground(rules=BedRules(clear_by=(4, 15)))
    current = bound(
        season(south, 2026), life_of(set_out(south)), outlook_of(out, dates=south, ground=ground)
    )
    assert current.clear_by == date(2027, 4, 15)


def test_what_went_in_after_the_day_has_until_the_next_one() -> None:
    ground = Ground(rules=OCTOBER)
    late = life_of(young(out=date(2026, 10, 16)))
    outlook = outlook_of(date(2026, 10, 20), ground=ground)
    assert bound(season(TYPED, 2026), late, outlook) == season(TYPED, 2026)
    assert bound(season(TYPED, 2027), late, outlook).clear_by == date(2027, 10, 15)
    on_the_day = life_of(young(out=date(2026, 10, 15)))
    assert bound(season(TYPED, 2026), on_the_day, outlook).clear_by == date(2026, 10, 15)


def test_pots_and_beds_without_a_rule_are_left_alone() -> None:
    current = season(TYPED, 2026)
    for ground in (Ground(), Ground(in_pot=True, rules=OCTOBER), Ground(rules=BedRules(None))):
        assert bound(current, life_of(young()), outlook_of(OUT, ground=ground)) is current
    plots = Ground(rules=BedRules(plots_kept=False))
    assert bound(current, life_of(young()), outlook_of(OUT, ground=plots)) is current


# The plan


def test_lifting_that_comes_sooner_stays_where_it_is() -> None:
    free = planned(young(), TYPED, OUT, BedRules())
    ruled = planned(young(), TYPED, OUT, OCTOBER)
    assert [step.window for step in ruled] == [step.window for step in free]
    assert [step.reason for step in ruled] == [step.reason for step in free]
    assert first_of(ruled)["lift"].anchor == ANCHOR


def test_everything_that_hangs_on_the_autumn_follows() -> None:
    steps = first_of(planned(young(), TYPED, OUT, EARLY_OCTOBER))
    assert edges(steps["lift"]) == ("08-30", "09-13", "09-20")
    assert edges(steps["pest_check"]) == ("08-16", "08-30", "09-10")
    assert edges(steps["acclimatise"]) == ("09-03", "09-06", "09-10")
    assert edges(steps["review"]) == ("07-30", "08-14", "08-30")
    assert edges(steps["backup"])[1] == "08-30"
    assert edges(steps["label_check"])[1] == "09-03"
    assert edges(steps["last_pick"])[1] == "09-10"
    assert edges(steps["winter_quarters"]) == ("09-13", "09-13", "09-20")
    assert edges(steps["cut_back"])[1] == "09-27"
    for kind in ("lift", "review", "pest_check", "backup", "label_check", "winter_quarters"):
        assert steps[kind].reason.startswith("This bed must be clear by {2026-09-20}. ")
    feeds = [s for s in planned(young(), TYPED, OUT, EARLY_OCTOBER) if s.kind == "feed"]
    assert max(step.window.best for step in feeds) <= date(2026, 9, 13) - timedelta(21)
    assert steps["lift"].source == SOURCES["garden"] == "Set by this garden"
    assert steps["pest_check"].source != SOURCES["garden"]


def test_the_identities_stay_so_that_open_tasks_move() -> None:
    today = date(2026, 7, 1)
    free = {step.identity for step in planned(young(), TYPED, today, BedRules())}
    ruled = {step.identity for step in planned(young(), TYPED, today, EARLY_OCTOBER)}
    for kind in ("review", "lift", "pest_check", "acclimatise", "winter_quarters", "backup"):
        assert (kind, 2026, 1) in free & ruled


def test_zone_9_gets_the_pot_route() -> None:
    facts = set_out(NINE)
    today = facts[-1].happened_on
    free = first_of(planned(facts, NINE, today, BedRules()))
    assert "lift" not in free
    assert "winter_check" in free
    steps = first_of(planned(facts, NINE, today, OCTOBER))
    assert edges(steps["lift"]) == ("09-24", "10-08", "10-15")
    assert steps["winter_quarters"].waits_for == "lift"
    assert steps["winter_check"].waits_for == "winter_quarters"
    assert steps["replant"].waits_for == "harden_again"
    assert "may keep peppers in the ground" not in steps["lift"].reason


@pytest.mark.parametrize("rules", [OCTOBER, NO_PERENNIALS])
def test_a_decision_to_leave_it_in_the_ground_is_not_followed(rules: BedRules) -> None:
    facts = [*set_out(NINE), fact(Kind.REVIEWED, date(2026, 9, 10), choice="in_ground")]
    steps = first_of(planned(facts, NINE, date(2026, 9, 12), rules))
    assert "so it cannot stay as decided." in steps["lift"].reason
    assert "review" not in steps


def test_a_decision_for_pots_or_to_let_go_is() -> None:
    for choice, kind in (("growing_on", "winter_quarters"), ("let_go", "let_go")):
        facts = [*set_out(NINE), fact(Kind.REVIEWED, date(2026, 9, 10), choice=choice)]
        steps = first_of(planned(facts, NINE, date(2026, 9, 12), OCTOBER))
        assert kind in steps
        assert "cannot stay" not in steps[kind].reason
    assert edges(steps["let_go"]) == ("09-24", "10-08", "10-15")
    facts = [*set_out(NINE), fact(Kind.REVIEWED, date(2026, 9, 10), choice="cutting")]
    steps = first_of(planned(facts, NINE, date(2026, 9, 12), OCTOBER))
    assert steps["take_cutting"].window.latest == date(2026, 10, 8)


def test_without_perennials_the_season_ends_as_it_does_and_nothing_winters_there() -> None:
    facts = set_out(NINE)
    steps = first_of(planned(facts, NINE, facts[-1].happened_on, NO_PERENNIALS))
    assert steps["lift"].window == season(NINE, 2026).lift
    assert steps["lift"].reason.startswith("Perennials may not winter in this bed’s ground. ")
    # Where they are lifted anyhow there is nothing to say.
    cold = planned(young(), TYPED, OUT, NO_PERENNIALS)
    assert [step.reason for step in cold] == [
        step.reason for step in planned(young(), TYPED, OUT, BedRules())
    ]
    # An annual stands until the freeze.
    tomato = first_of(planned(young(), TYPED, OUT, NO_PERENNIALS, "tomato_cherry"))
    assert tomato == first_of(planned(young(), TYPED, OUT, BedRules(), "tomato_cherry")) | {
        "let_go": tomato["let_go"]
    }
    assert tomato["let_go"].window.latest == date(2026, 10, 12)


def test_tomatoes_do_not_wait_for_the_freeze_there() -> None:
    rules = BedRules(clear_by=(10, 5))
    step = first_of(planned(young(), TYPED, OUT, rules, "tomato_cherry"))["let_go"]
    assert edges(step) == ("09-13", "09-28", "10-05")
    assert step.reason.startswith("This bed must be clear by {2026-10-05}. ")
    assert (step.anchor, step.source) == (ANCHOR, SOURCES["garden"])


def test_one_flush_is_cleared_in_time() -> None:
    facts = [*young(), fact(Kind.PICKED, date(2026, 8, 10))]
    rules = BedRules(clear_by=(8, 31))
    steps = planned(facts, TYPED, date(2026, 8, 11), rules, "tomato_determinate")
    assert edges(first_of(steps)["clear"]) == ("08-10", "08-24", "08-31")
    assert "must be clear by {2026-08-31}" in first_of(steps)["clear"].reason


def test_shade_comes_down_with_the_bed() -> None:
    event = SiteEvent(Weather.HEAT, date(2026, 9, 1), date(2026, 9, 10))
    facts = [*young(), fact(Kind.SHADED, date(2026, 9, 2))]
    today = date(2026, 9, 12)
    free = first_of(planned(facts, TYPED, today, BedRules(), events=(event,)))
    ruled = first_of(planned(facts, TYPED, today, EARLY_OCTOBER, events=(event,)))
    assert free["unshade"].window.latest > date(2026, 9, 20)
    assert ruled["unshade"].window.latest == date(2026, 9, 20)


def test_where_it_never_freezes_it_goes_into_the_open_in_its_pot() -> None:
    facts = set_out(WARM)
    steps = first_of(planned(facts, WARM, facts[-1].happened_on, OCTOBER))
    assert edges(steps["lift"]) == ("09-24", "10-08", "10-15")
    assert edges(steps["pot_out"]) == ("10-08", "10-08", "10-15")
    assert steps["pot_out"].waits_for == "lift"
    assert not {"winter_quarters", "acclimatise", "pest_check", "wake", "replant"} & set(steps)
    out = date(2026, 10, 8)
    facts += [
        fact(Kind.LIFTED, out),
        fact(Kind.PLANTED_OUT, out, place=BENCH, sheltered=False),
    ]
    pot = Ground(in_pot=True, rules=OCTOBER)
    later = first_of(plan(life_of(facts), "annuum", WARM, out + timedelta(1), ground=pot))
    assert not {"lift", "pot_out"} & set(later)
    # What it is asked for next in its pot is not what was done before it left the bed.
    assert later["review"].number == 2


def test_one_that_never_took_hold_can_go_into_its_pot() -> None:
    facts = [
        *set_out(WARM),
        fact(Kind.LIFTED, date(2026, 10, 8)),
        fact(Kind.PLANTED_OUT, date(2026, 10, 8), place=BENCH, sheltered=False),
    ]
    assert life_of(facts).place == BENCH


def test_lifted_weeks_ahead_of_the_cold_it_waits_in_the_open_and_is_lifted_again() -> None:
    rules = BedRules(clear_by=(6, 30))
    steps = first_of(planned(young(), TYPED, OUT, rules))
    assert "pot_out" in steps
    assert "winter_quarters" not in steps
    assert steps["lift"].reason.startswith(
        "This bed must be clear by {2026-06-30}, before it can bear here. "
    )
    out = date(2026, 6, 23)
    facts = [
        *young(),
        fact(Kind.LIFTED, out),
        fact(Kind.PLANTED_OUT, out, place=BENCH, sheltered=False),
    ]
    pot = Ground(in_pot=True, rules=rules)
    later = first_of(plan(life_of(facts), "annuum", TYPED, out, ground=pot))
    assert (later["lift"].number, later["lift"].window) == (2, season(TYPED, 2026).lift)
    assert later["winter_quarters"].window.best == date(2026, 9, 27)


def test_a_plant_at_rest_goes_under_a_roof() -> None:
    facts = [*set_out(WARM), fact(Kind.GONE_TO_REST, date(2026, 9, 1))]
    steps = first_of(planned(facts, WARM, date(2026, 9, 2), OCTOBER))
    assert "winter_quarters" in steps
    assert "pot_out" not in steps


def test_what_stood_out_since_last_year_is_due_by_the_day_to_come() -> None:
    steps = first_of(planned(stood_out(), TYPED, date(2026, 6, 20), EARLY_OCTOBER))
    assert edges(steps["lift"])[2] == "09-20"


def test_a_rule_set_after_its_day_makes_the_lifting_late_through_planting_time() -> None:
    facts = set_out(NINE)
    over = season(NINE, 2027).plant_out.latest
    for today in (date(2026, 12, 20), over):
        steps = first_of(planned(facts, NINE, today, OCTOBER))
        assert steps["lift"].window.latest == date(2026, 10, 15)
        assert "winter_check" not in steps or "winter_quarters" in steps
    steps = first_of(planned(facts, NINE, over + timedelta(1), OCTOBER))
    assert steps["lift"].window.latest == date(2027, 10, 15)
    tomato = first_of(planned(facts, NINE, date(2026, 12, 20), OCTOBER, "tomato_cherry"))
    assert tomato["let_go"].window.latest == date(2026, 10, 15)


def test_once_lifted_it_goes_on_as_lifted() -> None:
    steps = first_of(planned(lifted(), TYPED, date(2026, 9, 27), EARLY_OCTOBER))
    assert steps["winter_quarters"].waits_for == ""
    assert "lift" not in steps


def test_replanting_stays_allowed_and_asks_which_bed() -> None:
    rules = BedRules(clear_by=(10, 15), plots_kept=False)
    steps = first_of(planned(young(), TYPED, OUT, rules))
    assert "replant" in steps
    assert steps["replant"].reason.endswith("ask which bed is yours, and what stood in it.")
    assert steps["lift"].reason.endswith("The plot may be another’s next year.")
    assert steps["review"].reason.endswith("The plot may be another’s next year.")
    # In its quarters it is told by the rules of the site.
    inside = plan(
        life_of([*lifted(), fact(Kind.WINTER_QUARTERS, date(2026, 9, 28), inside=True,
                                 choice="resting")]),
        "annuum", TYPED, date(2026, 12, 1), ground=Ground(in_pot=True, rules=rules),
    )  # fmt: skip
    assert first_of(inside)["replant"].reason.endswith(
        "ask which bed is yours, and what stood in it."
    )


def test_bad_weather_does_not_push_a_feed_past_the_day() -> None:
    event = SiteEvent(Weather.FLOOD, date(2026, 8, 20), None)
    facts = [*young(), fact(Kind.FED, date(2026, 8, 5))]
    rules = BedRules(clear_by=(9, 20))
    for step in planned(facts, TYPED, date(2026, 8, 22), rules, events=(event,)):
        if step.kind == "feed":
            assert step.window.latest <= date(2026, 9, 20)


def test_the_route_that_a_bed_allows() -> None:
    current = season(TYPED, 2026)
    outlook = outlook_of(OUT, ground=Ground(rules=OCTOBER))
    ruled = bound(current, life_of(young()), outlook)
    for route in Route:
        assert allowed(route, current) is route
    assert allowed(Route.IN_GROUND, ruled) is Route.RESTING
    assert allowed(Route.GROWING_ON, ruled) is Route.GROWING_ON
    assert (
        replace(ruled, bed_end=None, lift=current.lift, lift_reason=current.lift_reason) == current
    )


def test_a_partner_is_cleared_in_time() -> None:
    sown = date(2026, 7, 20)
    facts = [fact(Kind.SOWN, sown, quantity=20), fact(Kind.EMERGED, sown, quantity=12)]
    rules = Ground(rules=EARLY_OCTOBER)
    for crop in ("bean", "onion"):
        steps = plan(life_of(facts, "sowing"), crop, TYPED, sown, ground=rules)
        clear = first_of(steps)["clear"]
        assert clear.window.latest <= date(2026, 9, 20)
        assert (clear.anchor, clear.source) == (ANCHOR, SOURCES["garden"])
        assert clear.reason.startswith("This bed must be clear by {2026-09-20}. ")
    later = plan(life_of(facts, "sowing"), "bean", TYPED, date(2027, 1, 20), ground=rules)
    assert "clear" in first_of(later)
    pots = plan(
        life_of(facts, "sowing"), "bean", TYPED, sown,
        ground=Ground(in_pot=True, rules=EARLY_OCTOBER),
    )  # fmt: skip
    assert pots == plan(life_of(facts, "sowing"), "bean", TYPED, sown, ground=Ground(in_pot=True))


# In words


def test_rules_in_words() -> None:
    assert in_words(BedRules()) == []
    assert in_words(BedRules((10, 15), False, False)) == [
        "Must be clear by 15 October each year.",
        "No perennials in the ground over winter.",
        "Plots are given out anew each year.",
    ]
    assert in_brackets(BedRules()) == in_brackets(BedRules(plots_kept=False)) == ""
    assert (
        in_brackets(BedRules((2, 28), False))
        == " (clear by 28 February, no perennials over winter)"
    )


@pytest.mark.parametrize("dates", [TYPED, NINE, WARM, site("tunis"), site("cordoba")])
@pytest.mark.parametrize("choice", ["", "in_ground", "let_go", "cutting"])
def test_a_reason_that_names_a_rule_has_no_more_than_sixty_words(dates, choice: str) -> None:
    for rules in (BedRules((10, 1), plots_kept=False), BedRules((6, 30)), BedRules(None, False)):
        facts = set_out(dates)
        out = facts[-1].happened_on
        if choice:
            facts = [*facts, fact(Kind.REVIEWED, out, choice=choice)]
        for crop in ("annuum", "tomato_cherry"):
            for days in (0, 100, 200):
                for step in planned(facts, dates, out + timedelta(days), rules, crop):
                    if "this bed" in step.reason.lower():
                        assert len(step.reason.split()) <= 60, step.reason
