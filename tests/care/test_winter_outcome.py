"""How a winter ended: first growth, patience, and what a hard winter does to it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care import winter_outcome
from lifecycle.care.outlook import SiteEvent, Weather
from lifecycle.care.seasons import OVERDUE
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from tests.care.summers import outlook_of, stood_out
from tests.care.winters import NO_FROST, QUARTERS, TYPED, edges, inside, woken, year
from tests.life.facts import fact, life_of, standing

SPRING = date(2027, 4, 1)
ONE = timedelta(1)


def indoors(facts: list[Fact], since: date = QUARTERS, waits: str = "", **more) -> list[Step]:
    outlook = outlook_of(SPRING, **more)
    return winter_outcome.indoors(life_of(facts), year(2027), since, outlook, waits)


def test_first_growth_is_looked_for_after_waking() -> None:
    [step] = indoors(inside(), waits="wake")
    assert (edges(step), step.waits_for) == (("04-10", "04-24", "05-08"), "wake")
    [step] = indoors(woken())
    assert (edges(step), step.waits_for) == (("04-12", "04-26", "05-10"), "")
    assert (step.identity, step.counts_from) == (("first_growth", 2027, 1), QUARTERS)
    assert (step.anchor, step.source) == ("waking", "practice")
    assert step.reason == (
        "Looked for from {2027-04-12}: note the first green shoot, which tells that it lived "
        "through the winter, or that it died. Wait until {2027-05-10} before calling it dead, and "
        "scratch the bark first."
    )


def test_first_growth_seen_is_not_looked_for() -> None:
    assert indoors([*inside(), fact(Kind.FIRST_GROWTH, date(2027, 3, 20))]) == []
    assert indoors([*inside(), fact(Kind.FIRST_GROWTH, QUARTERS)]) == []
    late = [*inside(), fact(Kind.FIRST_GROWTH, QUARTERS)]
    assert indoors(late, since=QUARTERS + ONE) != []


def test_it_follows_the_anchor_of_waking_and_the_day_it_came_in() -> None:
    [step] = indoors(inside(), wake_anchor="last_frost")
    assert edges(step) == ("03-21", "04-04", "04-18")
    [step] = indoors(inside(), since=date(2027, 4, 12))
    assert step.window.earliest == date(2027, 4, 12)
    [step] = indoors(woken(), since=date(2027, 4, 15))
    assert step.window.earliest == date(2027, 4, 15)


def test_it_is_left_out_while_it_is_far() -> None:
    assert len(indoors(inside(), until=date(2027, 4, 10))) == 1
    assert indoors(inside(), until=date(2027, 4, 9)) == []


def ground(facts: list[Fact], today: date = date(2026, 4, 1), **more) -> list[Step]:
    current = more.pop("current", year(2026))
    return winter_outcome.in_ground(life_of(facts), current, outlook_of(today, **more))


def test_first_growth_in_the_ground_is_looked_for_after_the_frosts() -> None:
    [step] = ground(stood_out())
    assert (edges(step), step.waits_for) == (("05-06", "05-20", "06-03"), "")
    assert (step.identity, step.anchor) == (("first_growth", 2026, 1), "the last frost")
    assert step.counts_from == year(2026).starts
    [step] = ground(stood_out(), current=replace(year(2026), spring_freeze_risk=None))
    assert step.window.earliest == date(2026, 5, 11)


def test_frosts_that_end_before_the_season_starts_count_from_their_end() -> None:
    early = replace(year(2026), spring_freeze_risk=date(2026, 2, 1))
    [step] = ground(stood_out(), current=early)
    assert step.counts_from == date(2026, 2, 1)
    assert ground([*stood_out(), fact(Kind.FIRST_GROWTH, date(2026, 2, 1))], current=early) == []
    before = [*stood_out(), fact(Kind.FIRST_GROWTH, date(2026, 1, 31))]
    assert len(ground(before, current=early)) == 1


def test_only_where_frost_comes_and_for_what_stood_out() -> None:
    assert ground(stood_out(), dates=NO_FROST) == []
    assert ground(stood_out(), dates=replace(TYPED, frosty=False)) == []
    starts = year(2026).starts
    for day, found in ((starts, 0), (starts - ONE, 1)):
        facts = [fact(Kind.INHERITED, day, inside=False, quantity=1, choice="growing")]
        assert len(ground(facts)) == found
        facts = [stood_out()[0], fact(Kind.PLANTED_OUT, day, inside=False)]
        assert len(ground(facts)) == found


@pytest.mark.parametrize("kind", [Kind.FIRST_GROWTH, Kind.FIRST_FLOWER, Kind.PICKED])
def test_growth_flower_or_fruit_has_told_already(kind: Kind) -> None:
    starts = year(2026).starts
    assert ground([*stood_out(), fact(kind, starts)]) == []
    if kind is not Kind.PICKED:
        assert len(ground([*stood_out(), fact(kind, starts - ONE)])) == 1


def test_one_that_still_bears_waits_for_its_cutback() -> None:
    bearing = standing(Phase.BEARING, inside=False)
    [step] = ground(bearing)
    assert step.waits_for == "cut_back"
    latest = date(2026, 5, 20) + timedelta(OVERDUE)
    assert len(ground(bearing, today=latest)) == 1
    assert ground(bearing, today=latest + ONE) == []
    cut = [*bearing, fact(Kind.CUT_BACK, date(2026, 5, 6))]
    assert ground(cut)[0].waits_for == ""
    again = [*cut, fact(Kind.FIRST_FLOWER, date(2026, 5, 7)), fact(Kind.PICKED, date(2026, 6, 1))]
    assert ground(again) == []


def test_one_that_bears_and_needs_no_cutback_is_not_looked_at() -> None:
    facts = [
        *standing(Phase.BEARING, inside=False),
        fact(Kind.CUT_BACK, date(2026, 3, 21)),
        fact(Kind.PICKED, date(2026, 3, 22)),
    ]
    assert ground(facts, current=replace(year(2026), starts=date(2026, 3, 23))) == []


HARD_WINTER = ("cold", "frost", "hail")


@pytest.mark.parametrize("what", HARD_WINTER)
def test_after_a_hard_winter_it_is_waited_for_longer(what: str) -> None:
    hurt = [*stood_out(), fact(Kind.DAMAGE, date(2026, 1, 10), choice=what)]
    [step] = ground(hurt)
    assert edges(step) == ("05-06", "05-20", "07-01")
    assert step.reason.endswith(
        f"or that it died. After {what} it comes back slowly: wait until {{2026-07-01}} before "
        "calling it dead, and scratch the bark first."
    )
    [inside_step] = indoors([*woken(), fact(Kind.DAMAGE, date(2027, 4, 13), choice=what)])
    assert edges(inside_step) == ("04-12", "04-26", "06-07")


def test_other_damage_and_other_winters_do_not_count() -> None:
    outlook = outlook_of(date(2026, 4, 1))
    back = year(2026).starts - timedelta(240)

    def hurt(day: date, what: str) -> tuple[str, ...]:
        life = life_of([*stood_out(), fact(Kind.DAMAGE, day, choice=what)])
        return winter_outcome.hard_winter(life, year(2026), outlook)

    assert hurt(back, "frost") == ("frost",)
    assert hurt(back - ONE, "frost") == ()
    assert hurt(back, "pest") == ()
    assert winter_outcome.hard_winter(life_of(stood_out()), year(2026), outlook) == ()


def test_hail_at_the_site_counts_as_well() -> None:
    back = year(2026).starts - timedelta(240)

    def told(*events: SiteEvent) -> tuple[str, ...]:
        life = life_of([*stood_out(), fact(Kind.DAMAGE, date(2026, 1, 10), choice="frost")])
        outlook = outlook_of(date(2026, 4, 1), events=events)
        return winter_outcome.hard_winter(life, year(2026), outlook)

    assert told(SiteEvent(Weather.HAIL, back, back)) == ("frost", "hail")
    assert told(SiteEvent(Weather.HAIL, back - ONE, back)) == ("frost",)
    assert told(SiteEvent(Weather.FLOOD, back)) == ("frost",)
    hail = SiteEvent(Weather.HAIL, date(2026, 3, 1), date(2026, 3, 1))
    life = life_of([*stood_out(), fact(Kind.DAMAGE, date(2026, 3, 1), choice="hail")])
    outlook = outlook_of(date(2026, 4, 1), events=(hail,))
    assert winter_outcome.hard_winter(life, year(2026), outlook) == ("hail",)
    both = ground(
        [*stood_out(), fact(Kind.DAMAGE, date(2026, 1, 10), choice="frost")], events=(hail,)
    )
    assert "After frost and hail it comes back slowly" in both[0].reason
