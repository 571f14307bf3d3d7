"""A garden that clears its beds on 15 October gets the pot route in time, in every zone.

That gardens ban perennials in the ground, have plots cleared by a day from 15 October to 1
November, and do not promise the same plot next year is found in their published rules: published
garden agreements, the Winghaven agreement, and the rules of a garden sign-up form. Those rules
give only the day. A week in hand before it and two weeks of window are common practice, no source,
and so is standing a plant in its pot in the open where no cold sends it under a roof; the rest of
the calendar is that of tests/external/test_year_calendars.py.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.bed_rules import BedRules
from lifecycle.care.outlook import Ground
from lifecycle.care.plan import plan
from lifecycle.care.seasons import season
from lifecycle.life.fold import Fact, fold
from lifecycle.life.kinds import Kind
from tests.external.test_year_calendars import (
    ILLINOIS,
    PIEDMONT,
    RECEIVED,
    SACRAMENTO,
    SOUTH_FLORIDA,
    computed,
)

PUBLISHED = ((10, 15), (11, 1))
"""The first and the last day to be clear by that was found in published rules."""

TUNIS, CORDOBA = computed("tunis", 36.8), computed("cordoba", -31.4)


def year(dates, rules: BedRules):
    """Return the steps of a plant set out on the best day of 2026, the first of each kind."""
    out = season(dates, 2026).plant_out.best
    life = fold(
        "plant",
        [
            Fact(1, Kind.RAISED, out - timedelta(40), RECEIVED, 1, place=1, sheltered=True),
            Fact(2, Kind.PLANTED_OUT, out, RECEIVED, place=2, sheltered=False),
        ],
    )
    found = {}
    for step in plan(life, "annuum", dates, out, ground=Ground(rules=rules)):
        found.setdefault(step.kind, step)
    return found


def days_of(window) -> tuple[str, str, str]:
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


@pytest.mark.parametrize(
    ("dates", "clear_by", "lift", "then", "best"),
    [
        # Zone 5, central Illinois: cool nights come first, and nothing moves.
        (ILLINOIS, (10, 15), ("09-11", "09-25", "09-27"), "winter_quarters", "09-25"),
        # Zone 7, Piedmont: three days sooner, and done before the freeze of one year in ten.
        (PIEDMONT, (10, 15), ("09-24", "10-08", "10-11"), "winter_quarters", "10-08"),
        # Zone 9, Sacramento: without the rule it would stay in the ground.
        (SACRAMENTO, (10, 15), ("09-24", "10-08", "10-15"), "winter_quarters", "10-08"),
        # Zone 10a, Tunis: nights stay mild for weeks yet, so the pot stands in the open.
        (TUNIS, (10, 15), ("09-24", "10-08", "10-15"), "pot_out", "10-08"),
        # Zone 10b, South Florida: it never freezes.
        (SOUTH_FLORIDA, (10, 15), ("09-24", "10-08", "10-15"), "pot_out", "10-08"),
        # Zone 9b in the south, Córdoba: the same day half a year on.
        (CORDOBA, (4, 15), ("03-25", "04-08", "04-15"), "winter_quarters", "04-08"),
    ],
)
def test_the_pot_route_is_there_in_time(dates, clear_by, lift, then, best):
    steps = year(dates, BedRules(clear_by=clear_by))
    assert days_of(steps["lift"].window) == lift
    assert steps[then].waits_for == "lift"
    assert f"{steps[then].window.best:%m-%d}" == best
    assert f"{steps['lift'].window.latest:%m-%d}" <= f"{clear_by[0]:02d}-{clear_by[1]:02d}"
    assert steps["review"].window.latest < steps["lift"].window.best
    assert steps["backup"].window.latest < steps["lift"].window.best
    if then == "winter_quarters":
        assert steps["cut_back"].waits_for == "winter_quarters"
        assert steps["pest_check"].window.best == steps["lift"].window.best - timedelta(14)
        assert steps["replant"].window.best > steps["lift"].window.best


@pytest.mark.parametrize("clear_by", PUBLISHED)
@pytest.mark.parametrize("dates", [ILLINOIS, PIEDMONT, SACRAMENTO, TUNIS, SOUTH_FLORIDA])
def test_every_published_day_is_kept(dates, clear_by):
    by = date(2026, *clear_by)
    lift = year(dates, BedRules(clear_by=clear_by))["lift"].window
    natural = season(dates, 2026).lift
    assert lift.latest <= by
    assert lift.best <= by - timedelta(7)
    if natural is not None and natural.best <= by - timedelta(7):
        assert lift == replace(natural, latest=min(natural.latest, by))
    else:
        assert lift.best == by - timedelta(7)
        assert lift.earliest == by - timedelta(21)


@pytest.mark.parametrize("dates", [SACRAMENTO, TUNIS, SOUTH_FLORIDA, CORDOBA])
def test_a_ban_on_perennials_in_the_ground_is_kept_where_they_would_winter_there(dates):
    assert "lift" not in year(dates, BedRules())
    steps = year(dates, BedRules(perennials_in_ground=False))
    assert steps["lift"].reason.startswith("Perennials may not winter in this bed’s ground.")
    assert "winter_quarters" in steps or "pot_out" in steps


def test_where_the_plot_may_pass_on_the_plan_says_so():
    steps = year(ILLINOIS, BedRules(plots_kept=False))
    assert "another’s next year" in steps["review"].reason
    assert "another’s next year" in steps["lift"].reason
    assert "ask which bed is yours" in steps["replant"].reason
