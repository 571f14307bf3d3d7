"""Shade on the afternoon side when heat threatens set or scald, and light again after it.

About 30 %: Diaz-Perez, ASHS 2011 (University of Georgia). The day above which set suffers: 90 F
(Ohio), 85 F (Iowa), 95 F (Bosland & Votava). Nights above 75 F set poorly (Ohio 2010). When to put
it up and to take it down is common practice, no source.
"""

from dataclasses import replace
from datetime import date

import pytest

from lifecycle.care.heat import day_limit_c
from lifecycle.care.outlook import Ground, SiteEvent, Weather
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.care.summers import OUT, fact, last_day, later, stood_out, window, work, young

BEGAN = later(30)
HOT = replace(typed_site(), hot_until=(9, 2))
"""Nights too hot to set fruit until 2 September, which is 100 days after planting out."""


def heat(began: date = BEGAN, ended: date | None = None) -> tuple[SiteEvent, ...]:
    return (SiteEvent(Weather.HEAT, began, ended),)


def test_no_heat_no_shade() -> None:
    for days in range(0, 120, 10):
        assert not {"shade", "unshade"} & set(work(young(), later(days)))
    flood = (SiteEvent(Weather.FLOOD, BEGAN), SiteEvent(Weather.HAIL, BEGAN, BEGAN))
    assert "shade" not in work(young(), BEGAN, events=flood)


def test_a_heat_wave_asks_for_shade() -> None:
    step = work(young(), BEGAN, events=heat())["shade"]
    assert window(step, BEGAN) == (0, 0, 3)
    assert step.identity == ("shade", 2026, 1)
    assert step.reason == (
        "Heat since {2026-06-24}. Put up shade of about 30 % from midday, on the afternoon side, "
        "and keep the morning sun. Fruit set suffers on days above {32.22 C}."
    )
    assert (step.source, step.setting, step.anchor) == (
        "uga_shade",
        "set_day_limit",
        "the weather",
    )
    for crop in ("tomato_indeterminate", "eggplant"):
        assert "shade" in work(young(), BEGAN, crop, events=heat())


@pytest.mark.parametrize(("choice", "degrees"), [("85", 29.44), ("90", 32.22), ("95", 35.0)])
def test_the_setting_says_which_day_is_too_hot(choice: str, degrees: float) -> None:
    assert day_limit_c(choice) == pytest.approx(degrees, abs=0.005)
    step = work(young(), BEGAN, events=heat(), set_day_limit=choice)["shade"]
    assert step.reason.endswith(f"days above {{{degrees:.2f} C}}.")


def test_a_pot_is_moved() -> None:
    step = work(young(), BEGAN, events=heat(), ground=Ground(in_pot=True))["shade"]
    assert "Move the pot into shade of about 30 % from midday" in step.reason


def test_a_wave_that_is_over_asks_for_two_weeks_more() -> None:
    ended = later(35)
    assert last_day(young(), "shade", BEGAN, 60, events=heat(ended=ended)) == later(49)
    # One that nobody ended stays.
    assert last_day(young(), "shade", BEGAN, 60, events=heat()) == later(89)
    two = (*heat(later(10), later(12)), *heat())
    assert work(young(), BEGAN, events=two)["shade"].window.best == BEGAN


def test_seedlings_under_a_roof_are_not_shaded_by_it() -> None:
    assert "shade" not in work(young(out=None), date(2026, 5, 20), events=heat(date(2026, 5, 19)))


@pytest.mark.parametrize("choice", ["heat"])
def test_scald_on_the_plant_asks_for_it_too(choice: str) -> None:
    seen = later(40)
    facts = [*young(), fact(Kind.DAMAGE, seen, choice=choice)]
    step = work(facts, seen)["shade"]
    assert window(step, seen) == (0, 0, 3)
    assert step.anchor == "the plant"
    assert step.reason.startswith("Heat or scald was seen on {2026-07-04}. Put up shade")
    assert last_day(facts, "shade", seen, 60) == later(54)
    other = [*young(), fact(Kind.DAMAGE, seen, choice="hail")]
    assert "shade" not in work(other, seen)


def test_sunscald_as_a_symptom_counts_as_scald() -> None:
    seen = later(40)
    facts = [*young(), fact(Kind.SYMPTOM, seen, choice="sunscald")]
    assert work(facts, seen)["shade"].anchor == "the plant"


def test_shade_that_stands_comes_down_two_weeks_after_the_heat() -> None:
    up, ended = later(31), later(40)
    facts = [*young(), fact(Kind.SHADED, up)]
    # While the heat lasts it stays.
    for events in (heat(), heat(ended=ended)):
        steps = work(facts, ended, events=events)
        assert not {"shade", "unshade"} & set(steps)
    step = work(facts, later(41), events=heat(ended=ended))["unshade"]
    assert window(step, ended) == (14, 14, 28)
    assert step.identity == ("unshade", 2026, 1)
    assert step.reason == (
        "14 days after {2026-07-04}, the last of the heat or the day shade went up: fruit ripens "
        "and colours in full light."
    )
    assert (step.source, step.setting, step.anchor) == ("practice", "set_day_limit", "the heat")
    # Nobody reported heat: from the day it went up.
    assert window(work(facts, up)["unshade"], up) == (14, 14, 28)
    late = [*young(), fact(Kind.SHADED, later(50))]
    assert window(work(late, later(51), events=heat(ended=ended))["unshade"], later(50))[1] == 14


def test_down_again_the_same_heat_asks_no_more_but_new_heat_does() -> None:
    facts = [*young(), fact(Kind.SHADED, later(31)), fact(Kind.UNSHADED, later(50))]
    assert not {"shade", "unshade"} & set(work(facts, later(51), events=heat()))
    assert "shade" not in work(facts, later(51), events=heat(later(50)))
    again = work(facts, later(51), events=heat(later(51)))["shade"]
    assert again.number == 2
    scald = [*facts, fact(Kind.DAMAGE, later(50), choice="heat")]
    assert "shade" not in work(scald, later(51))
    scald = [*facts, fact(Kind.DAMAGE, later(51), choice="heat")]
    assert work(scald, later(51))["shade"].number == 2
    twice = [*facts, fact(Kind.SHADED, later(52))]
    assert work(twice, later(52))["unshade"].number == 2


def test_shade_of_last_year_is_forgotten() -> None:
    facts = [*stood_out(), fact(Kind.SHADED, date(2025, 7, 1))]
    resumes = date(2026, 5, 6)
    assert "unshade" not in work(facts, resumes, out=resumes)
    assert work(facts, resumes, out=resumes, events=heat(resumes))["shade"].number == 1
    # The season starts on 12 March.
    new = [*stood_out(), fact(Kind.SHADED, date(2026, 3, 12))]
    assert work(new, resumes, out=resumes)["unshade"].number == 1


def hot(today: date, facts=None, **chosen: str):
    return work(facts or young(), today, dates=HOT, **chosen)


def test_a_site_that_knows_its_hot_weeks_asks_ahead_of_them() -> None:
    # Two months before 2 September.
    step = hot(OUT)["shade"]
    assert window(step) == (40, 40, 100)
    assert step.anchor == "hot nights"
    assert step.reason.startswith(
        "Nights here are too hot to set fruit until {2026-09-02} in most years. Put up shade"
    )
    assert last_day(young(), "shade", OUT, 130, dates=HOT) == later(100)
    assert window(hot(OUT, set_day_limit="85")["shade"])[:2] == (19, 19)
    assert window(hot(OUT, set_day_limit="95")["shade"])[:2] == (61, 61)


def test_not_before_it_is_out_nor_for_the_last_two_weeks_of_the_heat() -> None:
    def out_on(days_left: int):
        out = later(100 - days_left)
        return work(young(out=out), out, dates=HOT)

    assert window(out_on(30)["shade"]) == (70, 70, 100)
    assert "shade" in out_on(15)
    assert "shade" not in out_on(14)
    assert "shade" not in out_on(-1)


def test_hot_weeks_after_the_season_are_another_seasons() -> None:
    for last, asked in (((9, 28), True), ((9, 29), False)):
        dates = replace(typed_site(), hot_until=last)
        assert ("shade" in work(young(), OUT, dates=dates)) is asked


def test_once_shaded_in_its_hot_weeks_it_stays_until_they_end() -> None:
    up = later(45)
    facts = [*young(), fact(Kind.SHADED, up)]
    step = hot(up, facts)["unshade"]
    assert window(step) == (114, 114, 128)
    down = [*facts, fact(Kind.UNSHADED, later(60))]
    assert not {"shade", "unshade"} & set(hot(later(61), down))
    early = [*young(), fact(Kind.SHADED, later(39))]
    assert window(hot(later(39), early)["unshade"]) == (53, 53, 67)
    first = [*young(), fact(Kind.SHADED, later(40))]
    assert window(hot(later(40), first)["unshade"]) == (114, 114, 128)
    after = [*young(), fact(Kind.SHADED, later(101))]
    assert window(hot(later(101), after)["unshade"])[1] == 115
    at_end = [*young(), fact(Kind.SHADED, later(100))]
    assert window(hot(later(100), at_end)["unshade"])[1] == 114
