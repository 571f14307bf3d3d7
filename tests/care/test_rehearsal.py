"""The plan over the years of a record: what is known of a year, the advice, and what nights did.

The record is made up: every year the same, its low 18 C on 19 July and 0.2 C less for each day
away from it. So nights reach 50 F on 9 June and 55 F on 23 June, freeze up to 20 April and from
17 October on, and fall below 50 F after 28 August. One year, 2005, is then changed by hand.
"""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from lifecycle.care.rehearsal import (
    Advice,
    RehearsedYear,
    Winter,
    rehearse,
)
from lifecycle.care.rehearsal_nights import RecordNights
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.care.seasons import season
from tests.care.rehearsals import PEPPER, TOMATO, lived, made_up, real, run

# The advice


def test_a_year_like_all_others() -> None:
    assert lived() == RehearsedYear(
        year=2005,
        plant_out=date(2005, 6, 23),
        lift=date(2005, 8, 28),
        until=date(2005, 8, 28),
        chilled=(),
        frozen=(),
        protected=(),
        could_have=date(2005, 6, 9),
        days_waited=14,
        midsummer=date(2005, 8, 1),
    )


def test_at_fifty_nothing_is_waited_for() -> None:
    year = lived(night="50")
    assert (year.plant_out, year.could_have, year.days_waited) == (
        date(2005, 6, 9),
        date(2005, 6, 9),
        0,
    )


@pytest.mark.parametrize(
    ("first", "out"),
    [("2005-06-12", date(2005, 6, 12)), ("2005-06-09", date(2005, 6, 9)),
     ("2005-06-04", date(2005, 6, 23))],
)  # fmt: skip
def test_seven_ready_nights_let_it_out_ahead_of_the_best_day(first: str, out: date) -> None:
    # From the first day allowed, 9 June, on: a warm week before it is too early.
    assert lived(run(first, 7, 13.0)).plant_out == out


def test_six_ready_nights_are_not_seven() -> None:
    assert lived(run("2005-06-12", 6, 13.0)).plant_out == date(2005, 6, 23)


@pytest.mark.parametrize(
    ("low", "out"), [(12.75, "06-12"), (12.72, "06-23")]
)  # 55 F is 12.78, less 0.05 of slack
def test_how_warm_a_ready_night_is(low: float, out: str) -> None:
    assert f"{lived(run('2005-06-12', 8, low)).plant_out:%m-%d}" == out


@pytest.mark.parametrize(("low", "out"), [(9.96, "06-23"), (9.94, "06-27")])
def test_one_night_below_fifty_in_the_seven_holds(low: float, out: str) -> None:
    # On 20 June nothing is due; on the 26th it holds every day whose seven nights meet it.
    assert f"{lived({'2005-06-26': low}).plant_out:%m-%d}" == out


def test_nights_between_the_two_floors_wait_for_the_best_day() -> None:
    assert lived(run("2005-06-01", 60, 11.0)).plant_out == date(2005, 6, 23)


def test_by_the_dates_alone_the_nights_are_not_asked() -> None:
    changes = {"2005-06-26": 5.0, **run("2005-06-12", 8, 13.0)}
    year = lived(changes, advice=Advice.DATES)
    assert year.plant_out == date(2005, 6, 23)
    assert year.chilled == (date(2005, 6, 26),)


def test_held_for_too_long_it_is_not_planted() -> None:
    # The window closes on 14 July, and stays in the plan for 45 days: to 28 August.
    held = run("2005-06-01", 92, 9.0)
    year = lived(held)
    assert (year.plant_out, year.days_waited, year.chilled) == (None, None, ())
    assert year.could_have is None
    on_the_last_day = {day: low for day, low in held.items() if day < "2005-08-27"}
    assert lived({**on_the_last_day, **run("2005-08-27", 9, 11.0)}).plant_out == date(2005, 8, 27)


def test_nobody_sets_out_on_the_day_of_lifting() -> None:
    held = {**run("2005-06-01", 88, 9.0), **run("2005-08-28", 9, 11.0)}
    assert lived(held).plant_out is None
    out_all_year = lived(held, winter=Winter.GROUND)
    assert out_all_year.plant_out == date(2005, 8, 28)
    a_day_later = {**run("2005-06-01", 89, 9.0), "2005-08-28": 9.0}
    assert lived(a_day_later, winter=Winter.GROUND).plant_out is None


def test_a_missing_night_makes_no_week_ready_and_holds_nothing() -> None:
    warm = run("2005-06-12", 7, 13.0)
    assert lived({**warm, "2005-06-15": np.nan}).plant_out == date(2005, 6, 23)
    assert lived({"2005-06-25": np.nan}).plant_out == date(2005, 6, 23)
    # A known cold night beside it still holds.
    assert lived({"2005-06-25": np.nan, "2005-06-26": 5.0}).plant_out == date(2005, 6, 27)


# What the nights then did


def test_nights_are_counted_from_planting_out_to_lifting() -> None:
    cold = dict.fromkeys(("2005-06-22", "2005-06-23", "2005-08-28", "2005-08-29"), 1.0)
    year = lived(cold, advice=Advice.DATES)
    assert year.protected == year.chilled == (date(2005, 6, 23), date(2005, 8, 28))
    assert year.frozen == ()


@pytest.mark.parametrize(
    ("low", "chilled", "frozen", "protected"),
    [
        (9.96, 0, 0, 0),
        (9.94, 1, 0, 0),
        (2.3, 1, 0, 0),
        (2.2, 1, 0, 1),
        (0.1, 1, 0, 1),
        (0.0, 1, 1, 1),
        (-3.0, 1, 1, 1),
    ],
)
def test_what_a_night_does(low: float, chilled: int, frozen: int, protected: int) -> None:
    year = lived({"2005-07-20": low})
    counts = (len(year.chilled), len(year.frozen), len(year.protected))
    assert counts == (chilled, frozen, protected)


def test_whole_degrees_f_are_made_whole_before_they_are_compared() -> None:
    # 36 F kept in tenths of C reads back as 35.96 F, and 37 F as 37.04.
    whole = replace(made_up(), native_unit="F", precision=1.0)
    nights = RecordNights.of(whole)
    assert np.array_equal(nights.lows_f, np.rint(nights.lows_f))
    assert nights.slack_f == 1e-6


def test_a_tomato_is_chilled_at_less() -> None:
    # Below 41 F, 5 C.
    for low, chilled in ((5.0, 0), (4.96, 0), (4.94, 1)):
        assert len(lived({"2005-07-20": low}, crop=TOMATO).chilled) == chilled


def test_spring_ends_on_the_first_of_august() -> None:
    year = lived({"2005-07-31": -1.0, "2005-08-01": -1.0})
    assert year.frozen_in_spring == (date(2005, 7, 31),)
    assert year.frozen == (date(2005, 7, 31), date(2005, 8, 1))


def test_in_the_south_spring_ends_on_the_first_of_february() -> None:
    record, sites = real("cordoba")
    found = rehearse(record, sites, PEPPER, Winter.LIFTED)
    assert [year.midsummer for year in found.years] == [date(y + 1, 2, 1) for y in sites]
    assert all(year.lift and year.lift.year == year.year + 1 for year in found.years)


def test_in_the_ground_the_year_runs_to_the_next_planting() -> None:
    year = lived(winter=Winter.GROUND)
    assert (year.lift, year.until) == (None, date(2006, 6, 22))
    assert (year.frozen[0], year.frozen[-1]) == (date(2005, 10, 17), date(2006, 4, 20))
    assert len(year.frozen) == 186


def test_where_nothing_is_lifted_it_stays_out() -> None:
    record = made_up()
    warm = replace(record, tmin_c=record.tmin_c + 40, tmax_c=record.tmax_c + 40)
    sites = known_sites(warm, "north")
    year = rehearse(warm, sites, PEPPER, Winter.LIFTED).years[0]
    assert (year.lift, year.could_have, year.days_waited) == (None, None, None)
    assert year.plant_out == season(sites[1999], 1999).plant_out.earliest


# Looking back


def test_a_late_freeze_moves_the_day_that_would_have_done() -> None:
    year = lived({"2005-06-15": -0.5}, night="50")
    assert (year.could_have, year.plant_out) == (date(2005, 6, 16), date(2005, 6, 16))
    sooner = lived({"2005-06-15": -0.5}, night="50", advice=Advice.DATES)
    assert (sooner.plant_out, sooner.days_waited) == (date(2005, 6, 9), 0)
    assert sooner.frozen == (date(2005, 6, 15),)


def test_a_freeze_from_midsummer_on_is_not_one_of_spring() -> None:
    assert lived({"2005-07-31": -0.5}).could_have is None
    assert lived({"2005-08-01": -0.5}).could_have == date(2005, 6, 9)


def test_a_warm_week_in_spring_would_have_done_unless_it_froze_later() -> None:
    assert lived(run("2005-05-01", 7, 10.0)).could_have == date(2005, 5, 1)
    assert lived(run("2005-05-01", 7, 9.9)).could_have == date(2005, 6, 9)
    late = {**run("2005-05-01", 7, 10.0), "2005-05-08": 0.0}
    assert lived(late).could_have == date(2005, 6, 9)
    assert lived(run("2005-04-01", 7, 10.0)).could_have == date(2005, 6, 9)
    unknown = {**run("2005-05-01", 7, 10.0), "2005-05-03": np.nan}
    assert lived(unknown).could_have == date(2005, 6, 9)


def test_warm_weeks_of_the_winter_before_count_from_the_turn_of_the_year() -> None:
    record = made_up()
    mild = replace(record, tmin_c=np.maximum(record.tmin_c, 1.0))
    changed = {**run("2004-12-29", 10, 10.0)}
    for day, low in changed.items():
        mild.tmin_c[mild.dates == np.datetime64(day)] = low
    found = rehearse(mild, known_sites(mild, "north"), PEPPER, Winter.LIFTED)
    assert [y.could_have for y in found.years if y.year == 2005] == [date(2005, 1, 1)]
