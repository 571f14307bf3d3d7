"""The year that the plan gives, beside published year calendars of kept peppers.

Sources: last and first frost of central Illinois (Illinois Times 2009; N. Frillman, University
of Illinois Extension, 2022); keeping peppers in a cold zone (K. Murphy, Bucks County Master
Gardeners 2016); frost dates and protection in Sacramento (UC Cooperative Extension); ratoon
height (Kahn & Leskovar, HortScience 36:897). Frost dates of the Virginia and Carolina Piedmont are
from memory. Windows between the published anchors are derived from them.
docs/calendars.md shows the calendars and explains the differences.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.care.plan import plan
from lifecycle.care.seasons import season
from lifecycle.care.site_dates import from_report, typed
from lifecycle.life.fold import Fact, fold
from lifecycle.life.kinds import Kind
from tests.external.installed_records import aquacrop_csv

RECEIVED = datetime(2026, 1, 1, tzinfo=UTC)
NORTH = {"southern": False, "year_starts_in": 1}
ILLINOIS = typed(
    half_zone="5b",
    last_freeze="04-21",
    first_freeze="10-14",
    warm_from="05-22",
    cool_from="09-25",
    **NORTH,
)
PIEDMONT = typed(
    half_zone="7a", last_freeze="04-10", first_freeze="10-28", warm_from="", cool_from="", **NORTH
)
SACRAMENTO = typed(
    half_zone="9b",
    last_freeze="02-10",
    first_freeze="12-10",
    warm_from="04-01",
    cool_from="11-01",
    **NORTH,
)
SOUTH_FLORIDA = typed(
    half_zone="10b", last_freeze="", first_freeze="", warm_from="", cool_from="", **NORTH
)


def computed(name: str, latitude: float):
    summary = summarise(read_daily_record(aquacrop_csv(name)), latitude=latitude)
    return from_report(
        summary.as_report(),
        summary.curve_c,
        southern=latitude < 0,
        year_starts_in=7 if latitude < 0 else 1,
    )


def year_of_a_new_plant(dates):
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
    for step in plan(life, "annuum", dates, out):
        found.setdefault(step.kind, step)
    return found


def overlaps(window, first: date, last: date) -> bool:
    return window.earliest <= last and window.latest >= first


@pytest.mark.parametrize(
    ("dates", "kind", "first", "last"),
    [
        # zone 5, central Illinois
        (ILLINOIS, "lift", date(2026, 9, 20), date(2026, 10, 7)),
        (ILLINOIS, "cut_back", date(2026, 9, 20), date(2026, 10, 7)),
        (ILLINOIS, "pest_check", date(2026, 9, 5), date(2026, 9, 25)),
        (ILLINOIS, "review", date(2026, 8, 15), date(2026, 8, 31)),
        (ILLINOIS, "wake", date(2027, 4, 1), date(2027, 4, 25)),
        (ILLINOIS, "harden_again", date(2027, 5, 10), date(2027, 5, 24)),
        (ILLINOIS, "replant", date(2027, 5, 22), date(2027, 5, 31)),
        # zone 7, Piedmont
        (PIEDMONT, "lift", date(2026, 10, 5), date(2026, 10, 20)),
        (PIEDMONT, "wake", date(2027, 3, 15), date(2027, 4, 5)),
        (PIEDMONT, "harden_again", date(2027, 4, 22), date(2027, 5, 5)),
        (PIEDMONT, "replant", date(2027, 5, 1), date(2027, 5, 15)),
        # zone 9, Sacramento: frosted growth stays on until late winter
        (SACRAMENTO, "cut_back", date(2027, 2, 20), date(2027, 3, 31)),
    ],
)
def test_windows_overlap_the_published_ones(dates, kind, first, last):
    assert overlaps(year_of_a_new_plant(dates)[kind].window, first, last)


def test_the_back_up_sowing_of_zone_5_falls_in_march():
    life = fold("sowing", [Fact(1, Kind.PLANNED, date(2026, 1, 2), RECEIVED)])
    [step] = plan(life, "annuum", ILLINOIS, date(2026, 1, 2))
    assert step.kind == "sow"
    assert date(2026, 3, 10) <= step.window.best <= date(2026, 3, 25)


@pytest.mark.parametrize("dates", [ILLINOIS, PIEDMONT, computed("champion", 40.4)])
def test_cold_zones_lift_before_the_freeze_of_one_year_in_ten(dates):
    steps = year_of_a_new_plant(dates)
    freeze = season(dates, 2026).first_freeze_risk
    assert steps["lift"].window.latest < freeze
    assert steps["winter_quarters"].window.latest < freeze


@pytest.mark.parametrize("dates", [SACRAMENTO, computed("cordoba", -31.4), computed("tunis", 36.8)])
def test_zones_9_and_10_keep_peppers_in_the_ground_and_cut_after_the_frosts(dates):
    steps = year_of_a_new_plant(dates)
    assert "lift" not in steps
    freeze = season(dates, 2026).first_freeze_risk
    if freeze is not None:
        assert steps["cut_back"].window.earliest > freeze


def test_zone_9_stops_feeding_at_the_end_of_august():
    steps = plan(
        fold(
            "plant",
            [
                Fact(1, Kind.RAISED, date(2026, 3, 1), RECEIVED, 1, place=1, sheltered=True),
                Fact(2, Kind.PLANTED_OUT, date(2026, 4, 1), RECEIVED, place=2, sheltered=False),
            ],
        ),
        "annuum",
        SACRAMENTO,
        date(2026, 4, 1),
    )
    feeds = [step.window.best for step in steps if step.kind in ("first_feed", "feed")]
    assert max(feeds) <= date(2026, 8, 31)
    assert len(feeds) >= 5


def test_zone_10_without_frost_lifts_nothing_and_cuts_to_ratoon_height():
    steps = year_of_a_new_plant(SOUTH_FLORIDA)
    assert not {"lift", "winter_quarters", "wake", "winter_check"} & set(steps)
    assert "{20 cm} to {24 cm}" in steps["cut_back"].reason
