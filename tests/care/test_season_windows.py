"""The windows of one season and where seasons turn, at one typed site in zone 5.

Typed: last freeze 20 April, first freeze 14 October, nights of 55 F from 25 May and below
50 F from 30 September. One year in ten then freezes until 6 May and from 28 September on.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.seasons import (
    date_before,
    date_on_or_after,
    hardening,
    next_planting,
    season,
    season_at,
)
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Window
from tests.care.sites import mirrored, site, typed_site

TYPED = typed_site()
DAY = timedelta(1)


def lift(dates: SiteDates) -> tuple[str, ...] | None:
    window = season(dates, 2026).lift
    if window is None:
        return None
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


def test_lifting_ends_the_day_before_the_freeze_of_one_year_in_ten() -> None:
    assert lift(TYPED) == ("09-13", "09-27", "09-27")
    assert season(TYPED, 2026).lift_reason == (
        "Night lows here average less than {10.00 C} after {2026-09-27}. "
        "One year in ten has a freeze by {2026-09-28}."
    )


def test_lifting_goes_by_the_nights_where_no_freeze_comes_first() -> None:
    dates = replace(TYPED, first_freeze_risk=None)
    assert lift(dates) == ("09-16", "09-30", "10-21")
    assert season(dates, 2026).lift_reason == (
        "Night lows here average less than {10.00 C} after {2026-09-30}."
    )
    assert lift(replace(TYPED, first_freeze_risk=(10, 31))) == ("09-16", "09-30", "10-21")
    assert lift(replace(TYPED, first_freeze_risk=(10, 12))) == ("09-16", "09-30", "10-11")


def test_lifting_where_nights_are_never_mild() -> None:
    assert lift(site("never mild")) == ("09-07", "09-21", "09-27")
    unfrozen = replace(site("never mild"), first_freeze_risk=None)
    assert lift(unfrozen) == ("08-31", "09-14", "10-05")


def test_a_plant_stands_out_for_thirty_days_at_the_least() -> None:
    short = replace(site("never warm"), first_freeze_risk=None)  # planted on 4 July
    assert lift(replace(short, mild_until=(8, 10))) == ("07-27", "08-10", "08-31")
    assert lift(replace(short, mild_until=(7, 20))) == ("07-20", "08-03", "08-10")
    assert lift(replace(short, mild_until=(7, 10))) == ("07-20", "08-03", "08-03")


@pytest.mark.parametrize("name", ["all year mild", "all year warm"])
def test_nothing_is_lifted_where_nights_are_mild_all_year(name: str) -> None:
    assert lift(site(name)) is None
    assert "nothing needs lifting" in season(site(name), 2026).lift_reason


def test_where_nothing_is_lifted_the_turn_comes_eight_months_after_planting() -> None:
    found = season(site("all year warm"), 2026)  # planted on 20 May
    assert found.autumn == Window(date(2026, 12, 16), date(2027, 1, 15), date(2027, 2, 14))
    assert season(TYPED, 2026).autumn == season(TYPED, 2026).lift


def test_the_days_of_a_season() -> None:
    found = season(TYPED, 2026)
    assert found.starts == date(2026, 3, 12)  # 60 days before 11 May
    assert found.first_freeze_risk == date(2026, 9, 28)
    assert (found.spring_freeze_middle, found.spring_freeze_risk) == (
        date(2026, 4, 20),
        date(2026, 5, 6),
    )
    assert hardening(found.plant_out) == Window(
        date(2026, 4, 27), date(2026, 5, 11), date(2026, 5, 18)
    )


def test_a_spring_freeze_is_looked_for_up_to_ninety_days_after_planting() -> None:
    # 23 August is 90 days after 25 May, and no longer one of that spring.
    near = replace(TYPED, last_freeze_middle=(8, 22))
    far = replace(TYPED, last_freeze_middle=(8, 23))
    assert season(near, 2026).spring_freeze_middle == date(2026, 8, 22)
    assert season(far, 2026).spring_freeze_middle == date(2025, 8, 23)


def test_feeding_in_the_ground_ends_with_august_where_it_freezes() -> None:
    assert season(TYPED, 2026).feeding_ends_in_ground == date(2026, 8, 31)
    assert season(mirrored(TYPED), 2026).feeding_ends_in_ground == date(2027, 2, 28)
    assert season(replace(TYPED, frosty=False), 2026).feeding_ends_in_ground is None


def test_a_season_runs_from_its_first_waking_on() -> None:
    starts = season(TYPED, 2026).starts
    assert season_at(TYPED, starts).year == 2026
    assert season_at(TYPED, starts - DAY).year == 2025
    early = replace(TYPED, warm_from=(1, 20), mild_from=(1, 10))  # its season starts in November
    assert season_at(early, date(2026, 11, 11)).year == 2027
    assert season_at(early, date(2026, 11, 10)).year == 2026


def test_a_missed_window_stands_for_45_days() -> None:
    window = season(TYPED, 2026).plant_out
    assert window.latest == date(2026, 6, 15)
    before = window.best - DAY
    assert next_planting(TYPED, before, date(2026, 7, 30)).year == 2026
    assert next_planting(TYPED, before, date(2026, 7, 31)).year == 2027
    assert next_planting(TYPED, window.best, window.best).year == 2027
    assert next_planting(TYPED, before, date(2028, 7, 31)).year == 2029


def test_days_of_the_year_as_dates() -> None:
    first_of_may = date(2026, 5, 1)
    assert date_on_or_after((5, 1), first_of_may) == first_of_may
    assert date_on_or_after((4, 30), first_of_may) == date(2027, 4, 30)
    assert date_before((5, 1), first_of_may) == date(2025, 5, 1)
    assert date_before((4, 30), first_of_may) == date(2026, 4, 30)
    assert date_on_or_after((2, 29), date(2026, 2, 1)) == date(2026, 2, 28)
    assert date_before((2, 29), date(2025, 3, 1)) == date(2025, 2, 28)
