"""The decision to keep or let go, the route it gives, and the last day to feed.

The decision before lifting: K. Murphy, Bucks County Master Gardeners 2016. No feed after 31 August
in the ground: derived from University of Florida IFAS Extension. Three weeks without feed before
lifting, and how long ahead one decides, are common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.growing import decided_route, last_feed_day, review
from lifecycle.care.seasons import season
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.sites import site, typed_site
from tests.care.summers import fact, young
from tests.life.facts import life_of

AUTUMN = season(typed_site(), 2026)
"""Lifting falls best on 27 September."""


def test_the_decision_comes_before_lifting() -> None:
    step = review(life_of(young()), AUTUMN)
    assert step is not None
    assert step.window.earliest == date(2026, 8, 13)
    assert step.window.best == date(2026, 8, 28)
    assert step.window.latest == date(2026, 9, 13)
    assert step.counts_from == date(2026, 7, 14)
    assert step.reason == (
        "Lifting falls best on {2026-09-27} here. Choose what is healthy and worth its winter "
        "space while there is time."
    )
    assert step.identity == ("review", 2026, 1)
    assert (step.anchor, step.source, step.setting) == ("the winter", "bucks", "")


def test_where_nothing_is_lifted_the_decision_is_yearly() -> None:
    current = season(site("all year warm"), 2026)
    step = review(life_of(young()), current)
    assert step is not None
    # Eight months after planting out on 20 May, 15 January.
    assert step.window.best == date(2027, 1, 15) - timedelta(30)
    assert step.reason == (
        "Once a year: keep what is healthy and still crops well; let the rest go."
    )


@pytest.mark.parametrize(("day", "counts"), [(date(2026, 7, 14), True), (date(2026, 7, 13), False)])
def test_a_decision_counts_from_ten_weeks_before_lifting(day: date, counts: bool) -> None:
    life = life_of([*young(), fact(Kind.REVIEWED, day, choice="growing_on")])
    assert (review(life, AUTUMN) is None) is counts
    route = decided_route(life, AUTUMN, usual=Route.RESTING)
    assert route is (Route.GROWING_ON if counts else Route.RESTING)


def test_without_a_decision_the_usual_route_is_taken() -> None:
    assert decided_route(life_of(young()), AUTUMN, usual=Route.IN_GROUND) is Route.IN_GROUND
    # Set out once more, it is to be decided anew.
    facts = [
        *young(),
        fact(Kind.REVIEWED, date(2026, 8, 1), choice="growing_on"),
        fact(Kind.WINTER_QUARTERS, date(2026, 8, 2), inside=True, choice="growing_on"),
        fact(Kind.PLANTED_OUT, date(2026, 8, 9), inside=False),
    ]
    assert decided_route(life_of(facts), AUTUMN, usual=Route.RESTING) is Route.RESTING


@pytest.mark.parametrize(
    ("routes", "last"),
    [
        ((Route.RESTING,), date(2026, 9, 6)),
        ((Route.GROWING_ON,), date(2026, 9, 6)),
        ((Route.IN_GROUND,), date(2026, 8, 31)),
        ((Route.LET_GO,), date(2026, 8, 31)),
        ((Route.CUTTING,), date(2026, 8, 31)),
        # The one that ends first counts.
        ((Route.RESTING, Route.IN_GROUND), date(2026, 8, 31)),
        ((Route.IN_GROUND, Route.RESTING), date(2026, 8, 31)),
    ],
)
def test_the_last_day_to_feed(routes: tuple[Route, ...], last: date) -> None:
    assert last_feed_day(AUTUMN, *routes) == last


def test_where_no_frost_comes_feeding_has_no_last_day() -> None:
    warm = season(site("all year warm"), 2026)
    assert last_feed_day(warm, Route.IN_GROUND) is None
    assert last_feed_day(warm, Route.RESTING, Route.IN_GROUND) is None
    # Lifted all the same where it never freezes: only the lifted route has a last day.
    cool = season(replace(site("all year warm"), always_mild=False, always_warm=False,
                          mild_until=(11, 1), warm_from=(5, 20)), 2026)  # fmt: skip
    assert last_feed_day(cool, Route.IN_GROUND, Route.RESTING) == date(2026, 10, 11)
