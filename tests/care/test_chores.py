"""On which days a chore falls, whatever range one asks for."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.care.chore_words import repeat_words
from lifecycle.care.chores import (
    ANCHORED,
    ChoreDays,
    Repeat,
    anchor_reason,
    cautions_of,
    days_of,
    first_day_of,
    months_after,
    settles,
)
from lifecycle.care.site_dates import SiteDates
from lifecycle.handbook import CAUTIONS, STARTERS
from lifecycle.models import Chore
from tests.care.sites import INVENTED, REAL, mirrored, site, typed_site

DAYS = st.dates(date(2024, 1, 1), date(2032, 12, 31))
SITES: list[SiteDates | None] = [
    None,
    *(site(name) for name in (*REAL, *INVENTED)),
    mirrored(typed_site()),
]


@st.composite
def chores(draw: st.DrawFn) -> ChoreDays:
    first = draw(DAYS)
    return ChoreDays(
        repeat=draw(st.sampled_from(Repeat)),
        first_day=first,
        last_day=draw(st.none() | DAYS.filter(lambda day: day >= first)),
        every=draw(st.integers(1, 40)),
        from_anchor=draw(st.integers(-180, 180)),
        days_open=draw(st.integers(0, 90)),
    )


def bests(chore: ChoreDays, first: date, last: date, dates: SiteDates | None) -> list[date]:
    return [window.best for window in days_of(chore, first, last, dates)]


@given(chores(), DAYS, DAYS, DAYS, st.sampled_from(SITES))
def test_a_range_in_two_parts_has_the_same_days(
    chore: ChoreDays, one: date, two: date, three: date, dates: SiteDates | None
) -> None:
    first, middle, last = sorted((one, two, three))
    whole = bests(chore, first, last, dates)
    parts = bests(chore, first, middle, dates) + bests(chore, middle + timedelta(1), last, dates)
    assert whole == parts
    assert whole == sorted(set(whole))
    for day in whole:
        assert first <= day <= last
        assert chore.first_day <= day <= (chore.last_day or date.max)


@given(chores(), st.sampled_from(SITES))
def test_windows_open_on_their_day_and_stay_open(chore: ChoreDays, dates: SiteDates | None) -> None:
    for window in days_of(chore, date(2024, 1, 1), date(2030, 1, 1), dates):
        assert window.earliest == window.best
        if chore.repeat in ANCHORED and window.best == chore.first_day:
            assert window.latest <= window.best + timedelta(chore.days_open)
        else:
            assert window.latest == window.best + timedelta(chore.days_open)


@given(chores(), DAYS)
def test_what_repeats_falls_on_its_first_day(chore: ChoreDays, today: date) -> None:
    if chore.repeat not in ANCHORED:
        day = chore.first_day
        assert bests(chore, day, day, None) == [day]


def test_the_end_of_a_month_comes_back_after_a_shorter_one() -> None:
    chore = ChoreDays(Repeat.MONTHS, date(2027, 12, 31))
    found = bests(chore, date(2027, 12, 1), date(2028, 5, 31), None)
    assert found == [
        date(2027, 12, 31),
        date(2028, 1, 31),
        date(2028, 2, 29),
        date(2028, 3, 31),
        date(2028, 4, 30),
        date(2028, 5, 31),
    ]


def test_a_leap_day_is_the_28th_in_other_years() -> None:
    chore = ChoreDays(Repeat.YEARS, date(2024, 2, 29))
    found = bests(chore, date(2024, 1, 1), date(2028, 12, 31), None)
    assert [day.isoformat()[5:] for day in found] == ["02-29", *["02-28"] * 3, "02-29"]
    assert months_after(date(2024, 2, 29), 12) == date(2025, 2, 28)


def test_every_so_many_days_weeks_and_once() -> None:
    first, year = date(2026, 10, 5), date(2026, 10, 31)
    assert bests(ChoreDays(Repeat.DAYS, first, every=10), first, year, None) == [
        first,
        date(2026, 10, 15),
        date(2026, 10, 25),
    ]
    assert bests(ChoreDays(Repeat.WEEKS, first, every=2), first, year, None) == [
        first,
        date(2026, 10, 19),
    ]
    assert bests(ChoreDays(Repeat.ONCE, first), first, year, None) == [first]
    assert bests(ChoreDays(Repeat.ONCE, first), first + timedelta(1), year, None) == []


@pytest.mark.parametrize("name", ["champion", "brussels", "cordoba"])
def test_a_hard_freeze_comes_after_the_light_one_and_ends_before_it(name: str) -> None:
    dates = site(name)
    year = ChoreDays(Repeat.HARD_FREEZE, date(2025, 1, 1))
    [first] = bests(year, date(2026, 1, 1), date(2026, 12, 31), dates)
    last = ChoreDays(Repeat.LAST_HARD_FREEZE, date(2025, 1, 1))
    [spring] = bests(last, date(2026, 1, 1), date(2026, 12, 31), dates)
    # North: spring comes first in the calendar year; south: autumn does.
    assert (first < spring) is dates.southern


def test_before_and_after_the_hard_freeze_of_a_typed_site() -> None:
    """First freeze 14 October, last 20 April; typed dates are moved by the margin of one in ten."""
    dates = typed_site()
    assert dates.light_for_hard
    before = ChoreDays(Repeat.HARD_FREEZE, date(2025, 6, 1), from_anchor=-14)
    after = ChoreDays(Repeat.LAST_HARD_FREEZE, date(2026, 1, 1), from_anchor=7)
    [autumn] = bests(before, date(2026, 1, 1), date(2026, 12, 31), dates)
    [spring] = bests(after, date(2026, 1, 1), date(2026, 12, 31), dates)
    assert dates.first_hard_freeze == dates.first_freeze_risk
    assert autumn + timedelta(14) == date(2026, *dates.first_hard_freeze)
    assert spring - timedelta(7) == date(2026, *dates.last_hard_freeze)
    reason = anchor_reason(before, autumn, dates)
    assert reason.startswith(f"14 days before {{{autumn + timedelta(14)}}}: by then one year in")
    assert "{0.00 C}" in reason
    assert "stands for it" in reason


@pytest.mark.parametrize("name", ["all year warm", "all year mild", "tunis"])
@pytest.mark.parametrize("repeat", sorted(ANCHORED))
def test_without_a_hard_freeze_there_is_nothing_before_it(name: str, repeat: Repeat) -> None:
    chore = ChoreDays(repeat, date(2026, 1, 1), from_anchor=-14)
    assert bests(chore, date(2026, 1, 1), date(2030, 1, 1), site(name)) == []
    assert bests(chore, date(2026, 1, 1), date(2030, 1, 1), None) == []


ICE = replace(
    typed_site(), first_hard_freeze=(10, 20), last_hard_freeze=(4, 12), light_for_hard=False
)
"""First hard freeze 20 October, last 12 April."""


def shut_off(first_day: date, **more: int) -> ChoreDays:
    return ChoreDays(Repeat.HARD_FREEZE, first_day, **{"from_anchor": -14, "days_open": 10, **more})


@pytest.mark.parametrize(
    ("begins", "due", "latest", "why"),
    [
        (date(2026, 10, 5), date(2026, 10, 6), date(2026, 10, 16), "-2.22 C} or colder."),
        (date(2026, 10, 14), date(2026, 10, 14), date(2026, 10, 16), "it is due at once."),
        (date(2026, 10, 20), date(2026, 10, 20), date(2026, 10, 20), "chore began, so it is due"),
        (date(2026, 11, 3), date(2026, 11, 3), date(2026, 11, 3), "until {2027-04-12} such"),
        (date(2027, 4, 12), date(2027, 4, 12), date(2027, 4, 12), "until {2027-04-12} such"),
        (date(2027, 4, 13), date(2027, 10, 6), date(2027, 10, 16), "-2.22 C} or colder."),
    ],
)
def test_a_shut_off_added_late_is_due_at_once_while_hard_freezes_can_come(
    begins: date, due: date, latest: date, why: str
) -> None:
    chore = shut_off(begins)
    [window] = days_of(chore, begins, begins + timedelta(300), ICE)[:1]
    assert (window.best, window.latest) == (due, latest)
    assert why in anchor_reason(chore, due, ICE)
    later = bests(chore, due + timedelta(1), date(2029, 1, 1), ICE)
    assert later[-1] == date(2028, 10, 6)
    assert {(day.month, day.day) for day in later} == {(10, 6)}


def test_what_follows_the_winter_waits_for_the_next_one_when_its_window_is_over() -> None:
    def on(begins: date) -> date:
        chore = ChoreDays(Repeat.LAST_HARD_FREEZE, begins, from_anchor=7, days_open=14)
        return bests(chore, begins, begins + timedelta(400), ICE)[0]

    assert on(date(2026, 4, 19)) == date(2026, 4, 19)
    assert on(date(2026, 5, 3)) == date(2026, 5, 3)
    assert on(date(2026, 5, 4)) == date(2027, 4, 19)


def test_done_in_a_winter_is_done_for_that_winter_only() -> None:
    late, next_autumn = date(2027, 4, 12), date(2027, 10, 6)
    chore = shut_off(date(2026, 11, 3))
    assert settles(chore, date(2026, 11, 3), date(2026, 11, 3), ICE)
    assert settles(chore, late, date(2026, 11, 3), ICE)
    assert not settles(chore, late, next_autumn, ICE)
    assert settles(chore, date(2027, 8, 20), next_autumn, ICE)
    assert settles(chore, date(2028, 1, 20), next_autumn, ICE)
    assert not settles(chore, date(2028, 10, 6), next_autumn, ICE)


@given(chores(), st.sampled_from(SITES))
def test_every_day_of_an_anchored_chore_has_its_reason_and_settles_itself(
    chore: ChoreDays, dates: SiteDates | None
) -> None:
    if chore.repeat in ANCHORED and dates is not None:
        found = bests(chore, date(2024, 1, 1), date(2030, 1, 1), dates)
        for day in found:
            assert "{" in anchor_reason(chore, day, dates)
            settled = [other for other in found if settles(chore, day, other, dates)]
            assert settled == [day]


def test_words() -> None:
    first = date(2026, 10, 5)
    said = {
        repeat_words(ChoreDays(Repeat.WEEKS, first, every=2)): "Every 2 weeks, on Mondays.",
        repeat_words(ChoreDays(Repeat.DAYS, first)): "Every day.",
        repeat_words(ChoreDays(Repeat.MONTHS, first)): "Every month, on day 5.",
        repeat_words(
            ChoreDays(Repeat.MONTHS, date(2026, 10, 31))
        ): "Every month, on day 31 or its last.",
        repeat_words(ChoreDays(Repeat.YEARS, first)): "Every year, on 5 October.",
        repeat_words(
            ChoreDays(Repeat.HARD_FREEZE, first, from_anchor=-14)
        ): "Every year, 14 days before the first hard freeze.",
        repeat_words(
            ChoreDays(Repeat.LAST_HARD_FREEZE, first)
        ): "Every year, on the day of the last hard freeze.",
        repeat_words(ChoreDays(Repeat.ONCE, first)): "Once.",
    }
    for found, wanted in said.items():
        assert found == wanted


def test_the_starter_list() -> None:
    assert len(STARTERS) <= 12
    for starter in STARTERS.values():
        assert starter.repeat in list(Repeat)
        assert len(starter.label) <= 60
        assert len(starter.how) <= 500
        assert len(starter.key) <= 24
        assert set(cautions_of(starter.key, starter.skill)) <= set(CAUTIONS)
    assert "local code goes first" in CAUTIONS["water_main"]
    assert cautions_of("water_off", "water") == ("water_main",)
    assert cautions_of("compost", "lifting") == ("lifting", "compost")
    assert cautions_of("", "") == ()


def test_a_month_of_the_list_is_half_a_year_later_in_the_south() -> None:
    tools, today = STARTERS["tools"], date(2026, 10, 14)
    assert first_day_of(tools, today, southern=False) == date(2026, 11, 1)
    assert first_day_of(tools, today, southern=True) == date(2027, 5, 1)
    assert first_day_of(STARTERS["compost"], today, southern=True) == today


def test_the_table_knows_the_same_repeats() -> None:
    assert set(Chore.Repeat.values) == {repeat.value for repeat in Repeat}
