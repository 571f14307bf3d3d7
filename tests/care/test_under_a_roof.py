"""What needs water and a look under a roof: resting, waking and growing plants, and cuttings.

Water: every two to three weeks at rest, about weekly in growth (K. Murphy, Bucks County Master
Gardeners 2016). A weekly look for pests is common practice, no source.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from lifecycle.care.plan import plan
from lifecycle.care.site_dates import typed
from lifecycle.life.fold import Fact, fold
from lifecycle.life.kinds import Kind

RECEIVED = datetime(2026, 1, 1, tzinfo=UTC)
COLD = typed(
    half_zone="5b",
    last_freeze="04-21",
    first_freeze="10-14",
    warm_from="05-22",
    cool_from="09-25",
    southern=False,
    year_starts_in=1,
)


def facts(*acts):
    return [
        Fact(index, kind, day, RECEIVED, quantity=1, sheltered=roof, place=1, choice=choice)
        for index, (kind, day, roof, choice) in enumerate(acts)
    ]


RESTING = (
    (Kind.RAISED, date(2026, 4, 10), True, ""),
    (Kind.PLANTED_OUT, date(2026, 5, 22), False, ""),
    (Kind.LIFTED, date(2026, 9, 20), None, ""),
    (Kind.CUT_BACK, date(2026, 9, 20), None, ""),
    (Kind.WINTER_QUARTERS, date(2026, 9, 21), True, "resting"),
    (Kind.WATERED, date(2027, 3, 28), None, ""),
    (Kind.WINTER_CHECK, date(2027, 4, 1), None, "sound"),
)


def next_water(acts, today):
    steps = plan(fold("plant", facts(*acts)), "annuum", COLD, today)
    open_now = (step for step in steps if not step.waits_for)
    return next((step for step in open_now if step.kind == "winter_water"), None)


def test_a_resting_plant_waits_three_weeks_for_water():
    water = next_water(RESTING, date(2027, 4, 2))
    assert water.window.best == date(2027, 3, 28) + timedelta(21)


def test_a_waking_plant_is_watered_weekly_from_the_day_it_is_woken():
    woken = (*RESTING, (Kind.WOKEN, date(2027, 4, 7), None, ""))
    before = next_water(RESTING, date(2027, 4, 7))
    water = next_water(woken, date(2027, 4, 7))
    assert water.window.best == date(2027, 4, 14)
    assert water.identity == before.identity
    assert "waking" in water.reason


def test_watering_under_the_roof_ends_with_hardening():
    hardening = (
        *RESTING,
        (Kind.WOKEN, date(2027, 4, 7), None, ""),
        (Kind.HARDENING, date(2027, 5, 8), None, ""),
    )
    assert next_water(hardening, date(2027, 5, 8)) is None


@pytest.mark.parametrize(("kind", "cared_for"), [(Kind.STRUCK_CUTTING, True), (Kind.RAISED, False)])
def test_a_cutting_struck_in_autumn_is_cared_for_all_winter(kind, cared_for):
    acts = ((kind, date(2026, 9, 15), True, ""),)
    steps = plan(fold("plant", facts(*acts)), "annuum", COLD, date(2026, 9, 16))
    kinds = {step.kind for step in steps if not step.waits_for}
    assert ({"winter_water", "winter_check"} <= kinds) is cared_for
    assert "feed" not in kinds
