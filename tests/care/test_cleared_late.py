"""A bed that is not clear on its day stays asked for: over the turn of the season and beyond it."""

from datetime import date, timedelta

import pytest

from lifecycle.care.bed_rules import ANCHOR, BedRules
from lifecycle.care.seasons import OVERDUE, date_on_or_after, season
from lifecycle.care.site_dates import SiteDates, for_crop
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.cleared import planned, set_out
from tests.care.sites import INVENTED, REAL, mirrored, site, typed_site
from tests.life.facts import fact

NINE = typed_site(
    half_zone="9b", last_freeze="02-10", first_freeze="12-10", warm_from="04-01", cool_from="11-01"
)
TEN = typed_site(
    half_zone="10a", last_freeze="", first_freeze="", warm_from="03-15", cool_from="12-01"
)
SITES = {name: site(name) for name in (*REAL, *INVENTED)} | {
    "mirrored": mirrored(site("typed")),
    "9b": NINE,
    "10a": TEN,
}
DAYS = [(1, 1), (1, 31), (2, 28), (3, 10), (4, 30), (6, 15), (8, 1), (10, 15), (11, 15)]
SPECIES = ["annuum", "tomato_cherry", "tomato_determinate"]
DAY = timedelta(1)


def leaving(steps: list[Step]) -> list[Step]:
    return [step for step in steps if step.kind in ("lift", "let_go", "clear")]


def over_by(dates: SiteDates, day: tuple[int, int]) -> tuple[date, date]:
    """The day of the season of 2026, and the last on which it is still asked for."""
    by = date_on_or_after(day, season(dates, 2026).plant_out.best)
    return by, max(season(dates, 2027).plant_out.latest, by + timedelta(OVERDUE))


@pytest.mark.parametrize("crop", SPECIES)
@pytest.mark.parametrize("name", SITES)
def test_as_long_as_it_stands_there_exactly_one_step_asks_to_clear_the_bed(
    name: str, crop: str
) -> None:
    """Walked through a whole year after the day, for days all round the year."""
    dates = for_crop(SITES[name], CROPS[crop])
    facts = set_out(dates)
    for day in DAYS:
        rules = BedRules(clear_by=day)
        by, until = over_by(dates, day)
        kinds = set()
        for number in (*range(1, 40, 3), *range(40, 400, 7)):
            today = by + timedelta(number)
            found = leaving(planned(facts, dates, today, rules, crop))
            assert len(found) == 1, (day, today, found)
            assert found[0].anchor == ANCHOR
            assert not found[0].waits_for
            if today <= until:
                assert (found[0].growing_year, found[0].window.latest <= by) == (2026, True), today
                kinds.add(found[0].kind)
            else:
                assert found[0].growing_year == 2027, (day, today)
        assert len(kinds) == 1, (day, kinds)


@pytest.mark.parametrize("choice", ["in_ground", "resting", "growing_on", "cutting", "let_go"])
@pytest.mark.parametrize("dates", [NINE, TEN, site("typed")], ids=["9b", "10a", "typed"])
def test_whatever_was_decided(dates: SiteDates, choice: str) -> None:
    for day in DAYS:
        rules = BedRules(clear_by=day)
        by, until = over_by(dates, day)
        decided = max(season(dates, 2026).plant_out.best, by - timedelta(20))
        facts = [*set_out(dates), fact(Kind.REVIEWED, decided, choice=choice)]
        for number in range(1, 400, 6):
            today = by + timedelta(number)
            if today > until:
                break
            found = leaving(planned(facts, dates, today, rules))
            assert len(found) == 1, (day, today, found)
            assert found[0].growing_year == 2026


@pytest.mark.parametrize(("dates", "turn"), [(TEN, date(2027, 3, 1)), (NINE, date(2027, 3, 18))])
@pytest.mark.parametrize("day", [(10, 15), (1, 31), (3, 10)])
def test_the_turn_of_the_season_takes_nothing_away(
    dates: SiteDates, turn: date, day: tuple[int, int]
) -> None:
    assert season(dates, 2027).plant_out.earliest == turn
    before, after = (
        leaving(planned(set_out(dates), dates, today, BedRules(clear_by=day)))
        for today in (turn - DAY, turn + DAY)
    )
    assert before == after
    assert [step.growing_year for step in after] == [2026]


def test_what_stands_on_through_the_planting_is_the_next_seasons() -> None:
    rules = BedRules(clear_by=(10, 15))
    last = season(TEN, 2027).plant_out.latest
    [late] = leaving(planned(set_out(TEN), TEN, last, rules))
    [next_one] = leaving(planned(set_out(TEN), TEN, last + DAY, rules))
    assert late.window.latest == date(2026, 10, 15)
    assert next_one.window.latest == date(2027, 10, 15)


def moved(dates: SiteDates, day: date) -> list[Fact]:
    return [*set_out(dates), fact(Kind.MOVED, day, inside=False)]


def test_what_was_moved_in_after_the_day_has_until_the_next_one() -> None:
    rules, today = BedRules(clear_by=(9, 1)), date(2026, 9, 27)
    [late] = leaving(planned(set_out(TEN), TEN, today, rules))
    assert late.window.latest == date(2026, 9, 1)
    facts = moved(TEN, date(2026, 9, 26))
    found = leaving(planned(facts, TEN, today, rules))
    assert not [step for step in found if step.window.latest < today]
    [due] = leaving(planned(facts, TEN, date(2027, 7, 1), rules))
    assert due.window.latest == date(2027, 9, 1)


def test_what_was_moved_in_before_the_day_is_bound_by_it() -> None:
    rules = BedRules(clear_by=(9, 1))
    for day in (date(2026, 7, 1), date(2026, 9, 1)):
        [due] = leaving(planned(moved(TEN, day), TEN, date(2026, 9, 27), rules))
        assert due.window.latest == date(2026, 9, 1)
