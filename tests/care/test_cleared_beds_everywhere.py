"""Whatever the day to be clear by, the site, the crop and the life: no bed is planned past it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lifecycle.care.bed_rules import ANCHOR, BedRules
from lifecycle.care.outlook import Ground
from lifecycle.care.plan import plan
from lifecycle.care.seasons import date_on_or_after, season
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS
from lifecycle.life.fold import Fact, Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from tests.care.cleared import RuledWalk
from tests.care.sites import INVENTED, REAL, mirrored, site
from tests.care.test_plan_properties import climates, days_of_year
from tests.life.facts import fact, life_of
from tests.life.walks import walks

any_rules = st.builds(BedRules, st.none() | days_of_year, st.booleans(), st.booleans())
species = st.sampled_from(sorted(CROPS))
_NOT_IN_THE_BED = frozenset(
    {
        # After it has left, or wherever it stands.
        *("cut_back", "winter_quarters", "pot_out", "winter_check", "winter_water", "leach"),
        *("pollinate", "wake", "repot", "first_growth", "harden_again", "replant"),
        *("settle_identity", "renew_label", "look_over", "heat_water", "plant_out", "harden"),
    }
)


def stands_there(life: Life) -> bool:
    return life.outside and life.lifted_on is None


def by_of(step: Step, life: Life, dates: SiteDates, rules: BedRules) -> date | None:
    """The day that the step's season must be over by in the bed, worked out anew."""
    if rules.clear_by is None:
        return None
    by = date_on_or_after(rules.clear_by, season(dates, step.growing_year).plant_out.best)
    since = max([life.planted_out_on or life.began_on, *life.dates.get(Kind.MOVED, [])])
    return by if since <= by else None


@given(walks(12), climates, species, any_rules, st.integers(0, 10))
@settings(max_examples=60, deadline=None)
def test_no_step_of_the_bed_lies_after_the_day(
    facts: list[Fact], dates: SiteDates, kind: str, rules: BedRules, offset: int
) -> None:
    life, ground = life_of(facts), Ground(rules=rules)
    for days in range(offset, 731, 17):
        today = facts[-1].happened_on + timedelta(days)
        steps = plan(life, kind, dates, today, ground=ground)
        assert steps == plan(life, kind, dates, today, ground=ground)
        assert len({step.identity for step in steps}) == len(steps)
        kinds = {step.kind for step in steps}
        assert {step.waits_for for step in steps} - {""} <= kinds
        if not stands_there(life):
            continue
        for step in steps:
            by = by_of(step, life, dates, rules)
            if by is None or step.kind in _NOT_IN_THE_BED:
                continue
            assert step.window.latest <= by, (today, step)


@given(walks(12), climates, any_rules, st.integers(0, 720))
@settings(max_examples=120, deadline=None)
def test_nothing_winters_in_a_bed_that_ends_its_season(
    facts: list[Fact], dates: SiteDates, rules: BedRules, days: int
) -> None:
    life, today = life_of(facts), facts[-1].happened_on + timedelta(days)
    if not stands_there(life):
        return
    steps = plan(life, "annuum", dates, today, ground=Ground(rules=rules))
    kinds = {step.kind for step in steps}
    for step in steps:
        barred = not rules.perennials_in_ground or by_of(step, life, dates, rules) is not None
        if step.kind == "winter_check" and barred:
            assert "winter_quarters" in kinds, (today, step)
        if step.kind in ("lift", "let_go") and by_of(step, life, dates, rules) is not None:
            assert step.anchor == ANCHOR


@given(walks(12), climates, species, any_rules, st.integers(0, 720))
@settings(max_examples=80, deadline=None)
def test_nothing_else_changes_for_pots(
    facts: list[Fact], dates: SiteDates, kind: str, rules: BedRules, days: int
) -> None:
    life, today = life_of(facts), facts[-1].happened_on + timedelta(days)
    free = plan(life, kind, dates, today, ground=Ground(in_pot=True))
    ruled = plan(life, kind, dates, today, ground=Ground(in_pot=True, rules=rules))
    assert [replace(step, reason="") for step in ruled] == [replace(s, reason="") for s in free]
    for step, own in zip(free, ruled, strict=True):
        if step.kind != "replant" or rules.plots_kept:
            assert own.reason == step.reason


@given(walks(12), climates, any_rules, st.integers(0, 720), st.integers(0, 60))
@settings(max_examples=80, deadline=None)
def test_looking_less_far_leaves_out_only_what_opens_later(
    facts: list[Fact], dates: SiteDates, rules: BedRules, days: int, ahead: int
) -> None:
    life, today = life_of(facts), facts[-1].happened_on + timedelta(days)
    until, ground = today + timedelta(ahead), Ground(rules=rules)
    near = plan(life, "annuum", dates, today, until=until, ground=ground)
    whole = plan(life, "annuum", dates, today, ground=ground)
    assert near == [step for step in whole if step.window.earliest <= until]


@given(climates, species, days_of_year, st.integers(0, 500))
@settings(max_examples=80, deadline=None)
def test_what_is_sown_in_a_bed_is_cleared_in_time(
    dates: SiteDates, kind: str, day: tuple[int, int], days: int
) -> None:
    sown = date(2026, 3, 20)
    facts = [fact(Kind.SOWN, sown, quantity=20), fact(Kind.EMERGED, sown, quantity=12)]
    by = date_on_or_after(day, sown)
    ground = Ground(rules=BedRules(clear_by=day))
    for step in plan(life_of(facts, "sowing"), kind, dates, sown + timedelta(days), ground=ground):
        if step.kind in ("harvest", "clear"):
            assert step.window.latest <= by


SITES = {name: site(name) for name in (*REAL, *INVENTED)} | {"mirrored": mirrored(site("typed"))}


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize(
    "rules",
    [
        BedRules(clear_by=(10, 15)),
        BedRules(clear_by=(4, 15)),
        BedRules(clear_by=(6, 30), plots_kept=False),
        BedRules(clear_by=(1, 2)),
        BedRules(perennials_in_ground=False),
    ],
    ids=["october", "april", "june", "january", "no perennials"],
)
def test_three_years_lived_on_the_best_days(name: str, rules: BedRules) -> None:
    """Nothing is asked twice, nothing is late, and the bed is clear on every such day."""
    walk = RuledWalk(SITES[name], date(2026, 1, 2), rules=rules).walk(1100)
    assert walk.in_bed
    out = [done.day for done in walk.done if done.kind in ("plant_out", "replant")]
    for set_out in out:
        if rules.clear_by is None:
            continue
        by = date_on_or_after(rules.clear_by, set_out)
        after = [day for day in walk.in_bed if by < day]
        later = [day for day in out if day > set_out]
        assert not [day for day in after if not later or day < later[0]], (set_out, by)
    if walk.life().phase is not Phase.ENDED and len(walk.in_bed) > 200:
        assert {"lift"} <= {done.kind for done in walk.done}


@example(date(2026, 7, 1))
@example(date(2026, 12, 20))
@given(st.dates(date(2026, 6, 1), date(2027, 3, 1)))
@settings(max_examples=40, deadline=None)
def test_a_rule_set_after_its_day_shows_the_lifting_late_and_does_not_drop_it(today: date) -> None:
    for name in ("tunis", "all year mild", "typed"):
        dates = site(name)
        out = season(dates, 2026).plant_out.best
        if today <= out or today >= season(dates, 2027).plant_out.earliest:
            continue
        facts = [
            fact(Kind.INHERITED, out, inside=True, quantity=1, choice="seedling"),
            fact(Kind.PLANTED_OUT, out, inside=False),
        ]
        rules = BedRules(clear_by=(9, 30))
        steps = plan(life_of(facts), "annuum", dates, today, ground=Ground(rules=rules))
        assert "lift" in {step.kind for step in steps}, (name, today)
        steps = plan(life_of(facts), "tomato_cherry", dates, today, ground=Ground(rules=rules))
        assert "let_go" in {step.kind for step in steps}, (name, today)
