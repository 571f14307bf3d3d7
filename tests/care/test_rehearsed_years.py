"""What a rehearsal knows of a year, that its rule is the site's own, and what it comes to."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.agronomy.daily_record import DailyRecord, RecordError
from lifecycle.agronomy.site_climate import summarise
from lifecycle.care.outlook import Nights
from lifecycle.care.plan import plan
from lifecycle.care.readiness import Readiness, readiness
from lifecycle.care.rehearsal import (
    Advice,
    Rehearsal,
    RehearsedYear,
    Winter,
    rehearse,
    under_setting,
)
from lifecycle.care.rehearsal_nights import RecordNights
from lifecycle.care.rehearsal_summary import Spread, summary_of
from lifecycle.care.rehearsal_text import as_report, as_text
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.care.seasons import OVERDUE, season
from lifecycle.care.site_dates import SiteDates, for_crop, from_report
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from tests.care.rehearsals import LATITUDES, PEPPER, TOMATO, made_up, real, run
from tests.life.facts import fact, life_of

# What is known of a year


def test_a_year_is_not_looked_at_before_it_is_lived() -> None:
    changed = made_up({**run("2005-03-01", 250, -8.0)})
    sites, usual = known_sites(changed, "north"), known_sites(made_up(), "north")
    assert season(sites[2005], 2005) == season(usual[2005], 2005)
    assert season(sites[2004], 2004) != season(usual[2004], 2004)


@pytest.mark.parametrize(("name", "year"), [("champion", 1990), ("cordoba", 2003)])
def test_the_climate_of_the_other_years_is_that_of_a_record_without_it(
    name: str, year: int
) -> None:
    record, sites = real(name)
    south = LATITUDES[name] < 0
    starts = date(year, 7 if south else 1, 1)
    ends = date(year + 1, 7 if south else 1, 1)
    others = (record.dates < np.datetime64(starts)) | (record.dates >= np.datetime64(ends))
    assert sites[year] == same_zone(computed(only(record, others), south=south), sites[year])


@pytest.mark.parametrize("name", ["champion", "cordoba"])
def test_as_known_takes_only_the_years_before(name: str) -> None:
    record, _ = real(name)
    south = LATITUDES[name] < 0
    sites = known_sites(record, "south" if south else "north", as_known=True)
    assert min(sites) == {"champion": 1992, "cordoba": 2001}[name]
    before = record.dates < np.datetime64(date(2005, 7 if south else 1, 1))
    assert sites[2005] == same_zone(computed(only(record, before), south=south), sites[2005])


def test_a_year_of_the_south_turns_with_the_first_of_july() -> None:
    def sites(changes: dict[str, float]) -> dict[int, SiteDates]:
        return known_sites(made_up(changes), "south")

    # One absurd night makes the winter warm for every year that knows of it.
    usual, june, july = sites({}), sites({"2005-06-30": 5e3}), sites({"2005-07-01": 5e3})
    assert (june[2004], june[2005] == usual[2005]) == (usual[2004], False)
    assert (july[2005], july[2004] == usual[2004]) == (usual[2005], False)


def test_hot_nights_are_known_too() -> None:
    record = made_up()
    hot = replace(record, tmin_c=record.tmin_c + 30, tmax_c=record.tmax_c + 30)
    found = {dates.hot_until for dates in known_sites(hot, "north").values()}
    assert found == {computed(hot, south=False).hot_until} == {(11, 16)}


def only(record: DailyRecord, days: np.ndarray) -> DailyRecord:
    return replace(
        record,
        dates=record.dates[days],
        tmin_c=record.tmin_c[days],
        tmax_c=record.tmax_c[days],
        precip_mm=None,
    )


def computed(record: DailyRecord, *, south: bool) -> SiteDates:
    climate = summarise(record)
    return from_report(
        climate.as_report(), climate.curve_c, southern=south, year_starts_in=7 if south else 1
    )


def same_zone(dates: SiteDates, other: SiteDates) -> SiteDates:
    """The zone tells only of the usual winter; freeze shares are rounded in a report."""
    assert dates.freeze_share == pytest.approx(other.freeze_share, abs=1e-4)
    return replace(
        dates,
        half_zone=other.half_zone,
        extreme_min_c=other.extreme_min_c,
        freeze_share=other.freeze_share,
    )


def test_ten_years_are_needed_besides_the_one_lived_through() -> None:
    assert list(known_sites(made_up(last="2009-12-31"), "north")) == list(range(1999, 2010))
    with pytest.raises(RecordError, match="10 whole years; a rehearsal needs 11, 10 to know"):
        known_sites(made_up(last="2008-12-31"), "north")
    earlier = known_sites(made_up(last="2009-12-31"), "north", as_known=True)
    assert list(earlier) == [2009]


def test_a_year_is_whole_with_360_nights() -> None:
    for missing, whole in ((5, True), (6, False)):
        holes = run("2005-01-01", missing, np.nan)
        assert (2005 in known_sites(made_up(holes), "north")) is whole


def test_a_season_with_more_than_five_nights_missing_is_left_out() -> None:
    record = made_up(run("2005-07-01", 5, np.nan))
    sites = known_sites(record, "north")
    assert rehearse(record, sites, PEPPER, Winter.LIFTED).left_out == ()
    gap = made_up({**run("2005-07-01", 5, np.nan), "2005-06-09": np.nan})
    assert rehearse(gap, sites, PEPPER, Winter.LIFTED).left_out == (2005,)
    outside = made_up({**run("2005-07-01", 5, np.nan), "2005-06-08": np.nan, "2005-08-29": np.nan})
    assert rehearse(outside, sites, PEPPER, Winter.LIFTED).left_out == ()
    at_the_end = made_up({**run("2005-07-01", 5, np.nan), "2005-08-28": np.nan})
    assert rehearse(at_the_end, sites, PEPPER, Winter.LIFTED).left_out == (2005,)


def test_a_winter_that_the_record_does_not_reach_is_left_out() -> None:
    record = made_up()
    found = rehearse(record, known_sites(record, "north"), PEPPER, Winter.GROUND)
    assert found.left_out == (2011,)
    assert len(found.years) == 12


# The rule is the site's own


def by_hand(record: DailyRecord, dates: SiteDates, year: int) -> date | None:
    """Walk the days of a window with the readiness that a site's page shows."""
    lows = dict(zip(record.dates.tolist(), record.tmin_c.tolist(), strict=True))
    window, wanted = season(dates, year).plant_out, dates.planting_nights
    day = window.earliest
    while day <= window.latest + timedelta(OVERDUE):
        seven = [lows[day + timedelta(number)] for number in range(7)]
        answer = readiness(seven, wanted.ready_c, wanted.allowed_c).answer
        due = answer is Readiness.ALLOWED and day >= window.best
        if answer is Readiness.READY or due:
            return day
        day += timedelta(1)
    return None


@pytest.mark.parametrize("name", ["champion", "brussels", "cordoba", "tunis"])
@pytest.mark.parametrize("night", ["50", "55"])
def test_planting_out_follows_the_readiness_of_seven_nights(name: str, night: str) -> None:
    record, sites = real(name)
    sites = under_setting(sites, night)
    found = rehearse(record, sites, PEPPER, Winter.LIFTED)
    assert found.left_out == ()
    for year in found.years:
        dates = for_crop(sites[year.year], PEPPER)
        assert year.plant_out == by_hand(record, dates, year.year), year


@pytest.mark.parametrize("year", [1984, 1990, 2010])
def test_it_is_what_the_plan_says_day_by_day(year: int) -> None:
    record, sites = real("champion")
    lows = dict(zip(record.dates.tolist(), record.tmin_c.tolist(), strict=True))
    [rehearsed] = [
        each for each in rehearse(record, sites, PEPPER, Winter.LIFTED).years if each.year == year
    ]
    life = life_of([fact(Kind.RAISED, date(year, 4, 20), inside=True, quantity=1)])
    day = date(year, 5, 15)
    while True:
        nights = Nights(day, tuple(lows[day + timedelta(number)] for number in range(7)))
        steps = plan(life, "annuum", sites[year], day, nights=nights)
        [step] = [each for each in steps if each.kind == "plant_out"]
        # Nights far from the window leave it as it is.
        if step.window.best <= day:
            break
        day += timedelta(1)
    assert rehearsed.plant_out == day
    assert rehearsed.lift == season(sites[year], year).lift.best


@given(st.data())
@settings(max_examples=40)
def test_whatever_the_nights_the_counts_hang_together(data: st.DataObject) -> None:
    first = data.draw(st.dates(date(2005, 1, 1), date(2005, 12, 1)))
    lows = data.draw(st.lists(st.floats(-20, 25) | st.just(np.nan), max_size=40))
    changes = {(first + timedelta(n)).isoformat(): low for n, low in enumerate(lows)}
    record = made_up(changes)
    sites = under_setting(known_sites(record, "north"), data.draw(st.sampled_from(["50", "55"])))
    crop = data.draw(st.sampled_from([PEPPER, TOMATO, CROPS["eggplant"]]))
    winter, advice = data.draw(st.sampled_from(list(Winter))), data.draw(st.sampled_from(Advice))
    found = rehearse(record, sites, crop, winter, advice)
    assert sorted([*found.left_out, *(year.year for year in found.years)]) == sorted(sites)
    for year in found.years:
        assert set(year.frozen) <= set(year.protected) <= set(year.chilled)
        assert year.days_waited is None or year.days_waited >= 0
        if year.plant_out is not None:
            assert all(year.plant_out <= day <= year.until for day in year.chilled)
            assert year.lift in (None, year.until)
        assert as_report(found, {})["summary"]["years"] == len(found.years)


# What it comes to


def rehearsed_year(**more: object) -> RehearsedYear:
    return replace(
        RehearsedYear(
            year=2005,
            plant_out=date(2005, 6, 1),
            lift=date(2005, 9, 9),
            until=date(2005, 9, 9),
            chilled=(),
            frozen=(),
            protected=(),
            could_have=None,
            days_waited=None,
            midsummer=date(2005, 8, 1),
        ),
        **more,
    )


THREE = Rehearsal(
    (
        rehearsed_year(
            chilled=(date(2005, 6, 3), date(2005, 9, 1)),
            frozen=(date(2005, 6, 3), date(2005, 9, 1)),
            protected=(date(2005, 6, 3), date(2005, 6, 4), date(2005, 9, 1)),
            could_have=date(2005, 5, 28),
            days_waited=4,
        ),
        rehearsed_year(year=2006, plant_out=None, lift=date(2006, 9, 7)),
        rehearsed_year(
            year=2007,
            plant_out=date(2008, 1, 3),
            lift=None,
            chilled=(date(2008, 1, 9),),
            could_have=date(2008, 1, 2),
            days_waited=1,
        ),
    ),
    (2004,),
)


def test_the_summary_counts_up() -> None:
    summary = summary_of(THREE)
    assert (summary.years, summary.left_out, summary.not_planted) == (3, 1, 1)
    # The season of 2007 began in the following January: later than June in its own year.
    assert summary.plant_out == Spread((6, 1), (6, 1), (1, 3))
    assert summary.lift == Spread((9, 7), (9, 7), (9, 9))
    assert (summary.chilled_nights, summary.chilled_years) == (3, 2)
    assert (summary.frozen_nights, summary.frozen_in_spring, summary.frozen_years) == (2, 1, 1)
    assert (summary.protected_nights, summary.days_waited) == (3, 2.5)
    nothing = summary_of(Rehearsal((), ()))
    assert (nothing.plant_out, nothing.days_waited, nothing.years) == (None, None, 0)


def test_the_middle_of_three_days_is_the_second() -> None:
    days = [date(2005, 6, 9), date(2005, 6, 1), date(2005, 6, 2)]
    years = tuple(rehearsed_year(plant_out=day) for day in days)
    assert summary_of(Rehearsal(years, ())).plant_out == Spread((6, 1), (6, 2), (6, 9))


SETTINGS = {
    "crop": "pepper",
    "route": "lifted",
    "night": 55,
    "by": "nights",
    "known_by": "all other years",
}


def test_the_report() -> None:
    report = as_report(THREE, SETTINGS)
    assert list(report) == ["settings", "years", "left_out", "summary"]
    assert report["settings"] == SETTINGS
    assert report["left_out"] == [2004]
    assert report["years"][0] == {
        "year": 2005,
        "plant_out": "2005-06-01",
        "lift": "2005-09-09",
        "until": "2005-09-09",
        "chilled": 2,
        "frozen": True,
        "frozen_nights": ["2005-06-03", "2005-09-01"],
        "protected_nights": 3,
        "could_have": "2005-05-28",
        "days_waited": 4,
    }
    assert report["years"][1]["plant_out"] is None
    assert report["years"][2]["frozen"] is False
    assert report["summary"]["plant_out"] == {"first": "06-01", "middle": "06-01", "last": "01-03"}
    assert report["summary"]["frozen_nights"] == 2
    assert as_report(Rehearsal((), ()), SETTINGS)["summary"]["lift"] is None


def test_the_text() -> None:
    text = as_text(THREE, SETTINGS).splitlines()
    assert text[0] == (
        "Pepper, lifted, nights of 55 F, by the dates and each evening's next seven nights; "
        "the site known by all other years"
    )
    row = next(line.split() for line in text if line.startswith("  2005"))
    assert row == ["2005", "2005-06-01", "2005-09-09", "2", "2", "3", "2005-05-28", "4"]
    assert "never" in next(line for line in text if line.startswith("  2006"))
    assert "stays" in next(line for line in text if line.startswith("  2007"))
    assert "  not planted out in 1: the nights never allowed it" in text
    assert "  frozen     2 nights in 1 year, 1 before midsummer" in text
    assert "  waited     2.5 days in the middle year" in text
    assert "Left out, with more than five nights missing: 2004" in text
    bare = as_text(Rehearsal((), ()), {**SETTINGS, "by": "dates"})
    assert "by the dates alone" in bare
    assert "waited     " not in bare
    assert "Left out" not in bare


# The nights of a record


def test_seven_nights_from_each_day_of_a_record() -> None:
    dates = np.array(["2001-01-01", "2001-01-02", "2001-01-09"], dtype="datetime64[D]")
    record = DailyRecord(
        "made up", None, None, dates, np.array([5.0, -5.0, 10.0]), np.array([9.0, 9.0, 19.0])
    )
    nights = RecordNights.of(record)
    assert nights.first == date(2001, 1, 1)
    assert nights.lows_f.size == 9
    assert nights.coldest_f.tolist()[:2] == [23.0, 23.0]
    assert nights.coldest_f.tolist()[2:] == [50.0] * 7
    assert not nights.whole_week.any()
    assert nights.missing(date(2001, 1, 1), date(2001, 1, 9)) == 6
    assert nights.missing(date(2000, 12, 31), date(2001, 1, 2)) == 1
    assert nights.missing(date(2001, 1, 9), date(2001, 1, 11)) == 2
    assert nights.span(date(2000, 1, 1), date(2000, 2, 1)) == slice(0, 0)
    assert nights.span(date(2002, 1, 1), date(2002, 2, 1)) == slice(9, 9)
    assert nights.span(date(2001, 1, 2), date(2001, 1, 4)) == slice(1, 4)
    frost = nights.lows_f <= 32
    everything = nights.span(date(2001, 1, 1), date(2001, 1, 9))
    assert nights.days(frost, everything) == (date(2001, 1, 2),)
    assert nights.first_day(frost, everything) == date(2001, 1, 2)
    assert nights.first_day(frost, slice(2, 9)) is None
