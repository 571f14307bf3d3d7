"""Feeding by crop, brought forward after cold shock, outside and under a roof.

Three to four weeks after planting out: Pepper, Clemson Home & Garden Information Center. Every
three weeks, 2-4-2 and the answer to cold shock are common practice, no source.
"""

from datetime import date, timedelta

import pytest

from lifecycle.care.growing import feeding_resumes, feeds, feeds_inside
from lifecycle.care.seasons import season, season_at
from lifecycle.care.steps import Step
from lifecycle.life.kinds import Kind
from tests.care.sites import site, typed_site
from tests.care.summers import OUT, fact, kept, later, outlook_of, stood_out, window, young
from tests.life.facts import life_of

ENDS = date(2026, 9, 6)
LITTLE = "Little nitrogen for young peppers: an analysis such as 2-4-2, by the label."
MUCH = "Too much nitrogen makes leaves instead of fruit: follow the label."


def fed(
    facts, today: date, crop: str = "annuum", *, newly: bool = True, ends: date | None = ENDS
) -> list[Step]:
    outlook = outlook_of(today, crop)
    current = season_at(outlook.dates, max(today, OUT))
    life = life_of(facts)
    return feeds(life, current, OUT, outlook, newly_out=newly, ends=ends, waits_for="")


@pytest.mark.parametrize(
    ("facts", "crop", "words"),
    [
        (young(), "annuum", LITTLE),
        (young(), "chinense", LITTLE),
        (kept(), "annuum", MUCH),
        (young(), "tomato_cherry", MUCH),
        (young(), "eggplant", MUCH),
    ],
)
def test_what_the_first_feed_says(facts, crop: str, words: str) -> None:
    first = fed(facts, OUT, crop)[0]
    assert first.reason == f"Three to four weeks after planting out on {{2026-05-25}}. {words}"
    assert (first.kind, first.source, first.number) == ("first_feed", "clemson", 1)
    assert window(first) == (21, 24, 28)


def shocked(kind: Kind, day: date, choice: str):
    return [*young(), fact(kind, day, choice=choice)]


def test_cold_shock_brings_the_first_feed_forward() -> None:
    seen = later(4)
    first, second, *_ = fed(shocked(Kind.DAMAGE, seen, "cold"), seen)
    assert window(first, seen) == (0, 0, 7)
    assert first.reason == (
        "Cold shock and a short feed showed on {2026-05-29}: feed now, not three to four weeks "
        f"after planting out. {LITTLE}"
    )
    assert (first.source, first.identity) == ("practice", ("first_feed", 2026, 1))
    assert second.window.best == seen + timedelta(21)
    assert fed(shocked(Kind.DAMAGE, OUT, "cold"), OUT)[0].window.best == OUT


def test_purple_veins_are_read_as_cold_shock() -> None:
    seen = later(4)
    first = fed(shocked(Kind.SYMPTOM, seen, "purple_veins"), seen)[0]
    assert first.reason.startswith("Cold shock and a short feed showed on {2026-05-29}")


@pytest.mark.parametrize(
    ("kind", "choice"), [(Kind.DAMAGE, "hail"), (Kind.DAMAGE, "frost"), (Kind.SYMPTOM, "other")]
)
def test_other_damage_changes_nothing(kind: Kind, choice: str) -> None:
    assert window(fed(shocked(kind, later(4), choice), later(4))[0]) == (21, 24, 28)


def test_cold_shock_counts_in_the_early_weeks_of_a_plant_newly_out() -> None:
    def first(days: int, **more) -> Step:
        return fed(shocked(Kind.DAMAGE, later(days), "cold"), later(days), **more)[0]

    assert window(first(21), later(21)) == (0, 0, 7)
    assert window(first(22)) == (21, 24, 28)
    assert window(first(4, newly=False)) == (0, 7, 21)
    before = young(out=None)
    before += [fact(Kind.DAMAGE, later(-3), choice="cold")]
    before += [fact(Kind.PLANTED_OUT, OUT, inside=False)]
    assert window(fed(before, OUT)[0]) == (21, 24, 28)
    given = [*shocked(Kind.DAMAGE, later(4), "cold"), fact(Kind.FED, later(5))]
    assert fed(given, later(5))[0].kind == "feed"


def test_a_first_feed_too_late_is_left_out() -> None:
    assert fed(young(), OUT, ends=later(24))[0].kind == "first_feed"
    assert fed(young(), OUT, ends=later(23)) == []


def test_the_last_feed_is_named() -> None:
    # 45, 66, 87 days after planting out; 108 would be past 6 September, day 104.
    steps = fed(young(), OUT)
    assert [(step.window.best - OUT).days for step in steps] == [24, 45, 66, 87]
    last = "Follow the label. The last: feeding ends on {2026-09-06}."
    assert [step.reason.endswith(last) for step in steps] == [False, False, False, True]
    exact = fed(young(), OUT, ends=later(87))
    assert exact[-1].reason.endswith("The last: feeding ends on {2026-08-20}.")
    assert [(step.window.best - OUT).days for step in fed(young(), OUT, ends=later(86))] == [
        24,
        45,
        66,
    ]
    one_more = fed(young(), OUT, ends=later(108))
    assert (one_more[-1].window.best - OUT).days == 108
    assert [step.reason.endswith("}.") and "The last" in step.reason for step in one_more] == [
        False,
        False,
        False,
        False,
        True,
    ]


def test_where_feeding_never_ends_no_feed_is_the_last() -> None:
    steps = fed(young(), OUT, ends=None)
    assert len(steps) > 10
    assert not any("The last" in step.reason for step in steps)


def test_the_first_feed_and_what_follows_it() -> None:
    first, second, third, *_ = fed(young(), OUT)
    assert first.identity == ("first_feed", 2026, 1)
    assert (first.counts_from, first.anchor, first.setting) == (OUT, "planting out", "")
    assert (first.waits_for, second.waits_for, third.waits_for) == ("", "first_feed", "feed")
    assert [step.identity for step in (second, third)] == [("feed", 2026, 2), ("feed", 2026, 3)]
    assert (window(second), window(third)) == ((45, 45, 52), (66, 66, 73))
    assert second.reason == (
        "Every three weeks; the feed before is that of {2026-06-18}. Follow the label."
    )
    assert (second.counts_from, second.anchor, second.source) == (
        OUT,
        "the feed before",
        "practice",
    )


def test_what_waits_for_planting_out_is_told_so() -> None:
    outlook = outlook_of(OUT)
    found = feeds(
        life_of(young()), season(outlook.dates, 2026), OUT, outlook,
        newly_out=True, ends=ENDS, waits_for="plant_out",
    )  # fmt: skip
    assert [step.waits_for for step in found[:3]] == ["plant_out", "plant_out", "feed"]


def test_after_a_feed_the_next_is_three_weeks_on() -> None:
    given = [*young(), fact(Kind.FED, later(26))]
    second, third, *_ = fed(given, later(27))
    assert (window(second), second.number, second.waits_for) == ((47, 47, 54), 2, "")
    assert (window(third), third.number, third.waits_for) == ((68, 68, 75), 3, "feed")
    # Overdue, it stays where it was, and the one after it counts from today.
    second, third, *_ = fed(given, later(60))
    assert (window(second)[1], window(third)[1]) == (47, 81)
    # A first feed that nobody gave: likewise.
    first, second, *_ = fed(young(), later(40))
    assert (window(first)[1], window(second)[1]) == (24, 61)


def test_feeds_of_a_seedling_are_numbered_but_are_not_the_first_feed() -> None:
    facts = young(out=None)
    facts += [fact(Kind.FED, later(-10)), fact(Kind.PLANTED_OUT, OUT, inside=False)]
    assert [step.number for step in fed(facts, OUT)[:2]] == [1, 3]
    assert [step.number for step in fed([*facts, fact(Kind.FED, OUT)], OUT)[:2]] == [3, 4]
    early = [fact(Kind.RAISED, date(2026, 2, 1), inside=True, quantity=1)]
    early += [fact(Kind.FED, date(2026, 3, 12)), fact(Kind.PLANTED_OUT, OUT, inside=False)]
    # The season starts on 12 March.
    assert [step.number for step in fed(early, OUT)[:2]] == [1, 3]
    # A feed of the season before is none of this one's.
    old = kept()
    old.insert(2, fact(Kind.FED, date(2025, 6, 20)))
    assert [step.number for step in fed(old, OUT)[:2]] == [1, 2]


def test_one_moved_after_a_feed_is_fed_three_weeks_after_the_move() -> None:
    moved = [
        *young(out=later(-12)),
        fact(Kind.FED, later(-9)),
        fact(Kind.WINTER_QUARTERS, later(-5), inside=True, choice="growing_on"),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]
    found = fed(moved, OUT)[0]
    assert (found.kind, found.window.best) == ("feed", later(21))


def test_a_week_after_the_last_day_no_feed_is_asked_for() -> None:
    given = [*young(), fact(Kind.FED, later(80))]
    assert fed(given, ENDS + timedelta(7))[0].kind == "feed"
    assert fed(given, ENDS + timedelta(8)) == []


def test_where_nothing_ends_feeding_the_season_does() -> None:
    # 350 days from 25 May; the last round before that: 24 + 15 x 21 = 339.
    assert (fed(young(), OUT, ends=None)[-1].window.best - OUT).days == 339
    current = season(typed_site(), 2026)

    def endless(days: int) -> list[Step]:
        outlook, life = outlook_of(later(days)), life_of(young())
        return feeds(life, current, OUT, outlook, newly_out=True, ends=None, waits_for="")

    assert endless(357)
    assert endless(358) == []


def test_feeds_are_built_as_far_as_they_are_wanted() -> None:
    def built(until: date) -> int:
        outlook = outlook_of(OUT, until=until)
        life, current = life_of(young()), season(outlook.dates, 2026)
        return len(feeds(life, current, OUT, outlook, newly_out=True, ends=ENDS, waits_for=""))

    assert built(later(45)) == 2
    assert built(later(44)) == 1


def resumed(dates=None) -> Step:
    outlook = outlook_of(date(2026, 5, 6), dates=dates)
    current = season(outlook.dates, 2026)
    found = feeds(
        life_of(stood_out()), current, date(2026, 5, 6), outlook,
        newly_out=False, ends=ENDS, waits_for="",
    )  # fmt: skip
    return found[0]


def test_a_plant_that_stood_out_all_winter_is_fed_again() -> None:
    first = resumed()
    assert window(first, date(2026, 5, 6)) == (0, 7, 21)
    assert first.reason == (
        "The danger of frost is past by {2026-05-06} in most years: feeding may begin again. "
        "Follow the label."
    )
    assert first.source == "practice"
    assert resumed(site("all year mild")).reason == (
        "It stood out all year: feeding goes on every three weeks. Follow the label."
    )


# Under a roof, and when feeding may begin again

IN = date(2025, 9, 28)


def inside(*days: date, ends: date = date(2026, 4, 20)) -> list[Step]:
    """The feeds of a plant that grows on indoors, fed on ``days`` of its summer and autumn."""
    facts = [*stood_out(), *(fact(Kind.FED, day) for day in days if day < IN)]
    facts.append(fact(Kind.WINTER_QUARTERS, IN, inside=True, choice="growing_on"))
    facts += [fact(Kind.FED, day) for day in days if day >= IN]
    outlook = outlook_of(max([IN, *days]))
    return feeds_inside(life_of(facts), season(outlook.dates, 2025), IN, outlook, ends=ends)


def test_indoors_the_series_goes_on() -> None:
    first, second, *_ = inside(date(2025, 6, 18))
    # Fed long ago: a week after it came in.
    assert first.window.best == date(2025, 10, 5)
    assert first.identity == ("feed", 2025, 2)
    assert (first.waits_for, second.waits_for) == ("", "feed")
    assert first.counts_from == season(typed_site(), 2025).starts
    assert second.window.best == date(2025, 10, 26)
    assert inside()[0].number == 1
    on_the_day = [fact(Kind.RAISED, date(2025, 3, 1), inside=True, quantity=1)]
    on_the_day += [fact(Kind.FED, date(2025, 3, 12)), *stood_out()[1:]]
    on_the_day.append(fact(Kind.WINTER_QUARTERS, IN, inside=True, choice="growing_on"))
    outlook, winter = outlook_of(IN), season(typed_site(), 2025)
    assert winter.starts == date(2025, 3, 12)
    indoors = feeds_inside(life_of(on_the_day), winter, IN, outlook, ends=date(2026, 4, 20))
    assert indoors[0].number == 2
    # Fed less than two weeks before: three weeks after that.
    assert inside(date(2025, 9, 14))[0].window.best == date(2025, 10, 5)
    assert inside(date(2025, 9, 15))[0].window.best == date(2025, 10, 6)
    assert inside(date(2025, 9, 15), date(2025, 10, 8))[0].identity == ("feed", 2025, 3)


def test_indoors_no_feed_is_called_the_last() -> None:
    ends = date(2025, 10, 26)
    assert [step.window.best for step in inside(ends=ends)] == [date(2025, 10, 5), ends]
    assert not any("The last" in step.reason for step in inside(ends=ends))
    assert len(inside(ends=ends - timedelta(1))) == 1


def test_a_summer_before_does_not_count_indoors() -> None:
    facts = [*stood_out(), fact(Kind.FED, date(2025, 6, 18))]
    outlook = outlook_of(date(2026, 9, 28))
    [first, *_] = feeds_inside(
        life_of(facts), season(outlook.dates, 2026), date(2026, 9, 28), outlook,
        ends=date(2027, 4, 20),
    )  # fmt: skip
    assert first.number == 1


def test_feeding_resumes_after_the_frosts() -> None:
    life, frosty = life_of(stood_out()), season(typed_site(), 2026)
    assert feeding_resumes(life, frosty, frosty=True) == date(2026, 5, 6)
    no_freeze = season(typed_site(last_freeze=""), 2026)
    assert feeding_resumes(life, no_freeze, frosty=True) == date(2026, 5, 11)


def test_where_none_come_feeding_goes_on_from_the_last_feed() -> None:
    mild = season(site("all year mild"), 2026)

    def resumes(*days: int):
        facts = [fact(Kind.FED, mild.starts + timedelta(day)) for day in days]
        return (feeding_resumes(life_of([*stood_out(), *facts]), mild, frosty=False)
                - mild.starts).days  # fmt: skip

    assert resumes() == 0
    assert resumes(-22) == 0
    assert resumes(-21) == 0
    assert resumes(-20) == 1
    assert resumes(-1) == 20
    assert resumes(0) == 0
