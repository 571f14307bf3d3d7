"""One season of one plant as the steps of summer see it, and where they place a step in it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.growing import through_the_summer
from lifecycle.care.outlook import Ground
from lifecycle.care.seasons import season
from lifecycle.care.steps import Step, Window
from lifecycle.care.summer import Summer, Why, after, first_out
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import site, typed_site
from tests.care.summers import OUT, kept, later, outlook_of, stood_out, young
from tests.life.facts import fact, life_of

STARTS, OVER = date(2026, 3, 12), later(60)
WHY = Why("the anchor", "The reason.", "practice", "pinch")


def summer(
    facts: list[Fact] | None = None,
    today: date = OUT,
    *,
    out_on: date = OUT,
    newly_out: bool = True,
    **more,
) -> Summer:
    outlook = outlook_of(today, **more)
    life = life_of(young() if facts is None else facts)
    return Summer(life, season(outlook.dates, 2026), out_on, outlook, newly_out)


def test_a_window_so_many_days_after_a_day() -> None:
    assert after(OUT, 1, 2, 4) == Window(later(1), later(2), later(4))


def test_the_season_starts_60_days_before_the_earliest_day_to_plant_out() -> None:
    assert summer().current.starts == STARTS


# Kept


def taken_over(day: date, phase: str, *, inside: bool = True) -> list[Fact]:
    return [fact(Kind.INHERITED, day, inside=inside, quantity=1, choice=phase)]


@pytest.mark.parametrize(
    ("facts", "is_kept"),
    [
        (young(), False),
        (young(out=None), False),
        (kept(), True),
        (stood_out(), True),
        # In growth before the season started.
        (taken_over(STARTS - timedelta(1), "growing"), True),
        (taken_over(STARTS, "growing"), False),
        (taken_over(STARTS - timedelta(1), "seedling"), False),
        (taken_over(STARTS - timedelta(1), "hardening"), False),
        # Taken over at rest or waking, it has a winter behind it whenever that was.
        (taken_over(STARTS, "resting"), True),
        (taken_over(STARTS, "waking"), True),
    ],
)
def test_kept_is_what_lived_through_a_winter(facts: list[Fact], is_kept: bool) -> None:
    assert summer(facts).kept is is_kept


def test_a_plant_brought_in_for_some_days_in_its_first_summer_is_not_kept() -> None:
    facts = [
        *young(),
        fact(Kind.WINTER_QUARTERS, later(10), inside=True, choice="growing_on"),
        fact(Kind.PLANTED_OUT, later(14), inside=False),
    ]
    assert not summer(facts, later(14)).kept


# Where and until when


def test_what_it_stands_in_is_known_once_it_is_out() -> None:
    pot = Ground(in_pot=True)
    assert summer(ground=pot).in_pot
    assert not summer().in_pot
    assert not summer(young(out=None), ground=pot).in_pot


def test_the_freeze_of_one_year_in_ten_ends_it_or_lifting_or_the_year() -> None:
    assert summer().ends == date(2026, 9, 28)
    no_freeze = replace(typed_site(), first_freeze_risk=None)
    lifted = summer(dates=no_freeze)
    assert lifted.current.lift is not None
    assert lifted.ends == lifted.current.lift.best == date(2026, 9, 30)
    assert summer(dates=site("all year warm")).ends == date(2026, 5, 20) + timedelta(350)


def test_the_first_planting_out_of_the_season_counts_however_often_it_was_moved() -> None:
    moved = life_of(
        [
            *young(out=later(-12)),
            fact(Kind.WINTER_QUARTERS, later(-5), inside=True, choice="growing_on"),
            fact(Kind.PLANTED_OUT, OUT, inside=False),
        ]
    )
    current = summer().current
    assert first_out(moved, current, OUT) == later(-12)
    assert first_out(life_of(kept()), current, OUT) == OUT
    # A plant that stood out all winter: the day its care resumes.
    assert first_out(life_of(stood_out()), current, date(2026, 5, 6)) == date(2026, 5, 6)
    assert first_out(life_of(young(out=None)), current, later(3)) == later(3)
    assert first_out(life_of(young()), current, later(-3)) == later(-3)
    on_the_day = life_of(
        [
            fact(Kind.RAISED, STARTS, inside=True, quantity=1),
            fact(Kind.PLANTED_OUT, STARTS, inside=False),
        ]
    )
    assert first_out(on_the_day, current, OUT) == STARTS


# Once a season


def once(in_summer: Summer, **more) -> list[Step]:
    window = after(OUT, 5, 7, 9)
    return in_summer.once("mulch", Kind.MULCHED, window, WHY, stands=3, **more)


def test_a_step_done_once() -> None:
    assert once(summer()) == [
        Step(
            "mulch", 2026, 1, after(OUT, 5, 7, 9), STARTS, "the anchor", "The reason.", "practice",
            setting="pinch",
        )
    ]  # fmt: skip


def test_it_stands_past_its_window_and_no_longer() -> None:
    assert once(summer(today=later(12)))
    assert once(summer(today=later(13))) == []


@pytest.mark.parametrize(("day", "counts"), [(STARTS - timedelta(1), False), (STARTS, True)])
def test_done_counts_from_the_start_of_the_season(day: date, counts: bool) -> None:
    facts = [
        fact(Kind.RAISED, date(2026, 2, 1), inside=True, quantity=1),
        fact(Kind.MULCHED, day),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]
    assert (once(summer(facts)) == []) is counts
    # Or from the day that is asked about.
    assert once(summer(facts), since=day) == []
    [step] = once(summer(facts), since=day + timedelta(1))
    assert step.counts_from == day + timedelta(1)


def test_it_is_built_when_its_window_opens_soon_enough() -> None:
    assert once(summer(until=later(5)))
    assert once(summer(until=later(4))) == []


def test_what_cannot_be_logged_is_asked_of_no_plant_that_is_out() -> None:
    """A plant at rest is not tied; a seedling cannot be tied yet, and will be."""

    def tied(facts: list[Fact], **more) -> list[Step]:
        window = after(OUT, 0, 0, 30)
        return summer(facts).once("tie", Kind.TIED, window, WHY, stands=0, **more)

    assert tied(young())
    assert tied([*young(), fact(Kind.GONE_TO_REST, later(1))]) == []
    assert tied(young(out=None))
    assert tied(young(out=None), now=True) == []


def test_unless_it_is_for_today_a_seedling_will_be_able_to() -> None:
    window = after(OUT, 0, 0, 3)
    assert summer(young(out=None)).placed("tie", 1, Kind.TIED, window, WHY)


# Again and again


def again(in_summer: Summer, ends: date = OVER, **more) -> list[Step]:
    first = after(OUT, 5, 7, 9)
    return in_summer.again("feed", Kind.MULCHED, first, (2, 4, 6), WHY, ends=ends, **more)


def test_a_series_begins_with_its_first() -> None:
    assert again(summer()) == [
        Step(
            "feed", 2026, 1, after(OUT, 5, 7, 9), STARTS, "the anchor", "The reason.", "practice",
            setting="pinch",
        )
    ]  # fmt: skip


def test_then_it_follows_its_last_entry() -> None:
    [step] = again(summer([*young(), fact(Kind.MULCHED, later(8))], later(8)))
    assert (step.window, step.number) == (after(OUT, 10, 12, 14), 2)
    twice = [*young(), fact(Kind.MULCHED, later(8)), fact(Kind.MULCHED, later(20))]
    [step] = again(summer(twice, later(20)))
    assert (step.window, step.number) == (after(OUT, 22, 24, 26), 3)


def test_it_stays_due_until_the_series_ends() -> None:
    assert again(summer(today=later(60)))
    assert again(summer(today=later(61))) == []
    assert again(summer(), later(7))
    assert again(summer(), later(6)) == []


@pytest.mark.parametrize(
    ("day", "number", "best"),
    [
        (STARTS - timedelta(1), 1, 7),
        (STARTS, 2, 7),
        (later(-1), 2, 7),
        (OUT, 2, 4),
    ],
)
def test_entries_count_from_the_season_and_move_it_from_planting_out(
    day: date, number: int, best: int
) -> None:
    facts = [fact(Kind.RAISED, date(2026, 2, 1), inside=True, quantity=1)]
    facts += [fact(Kind.MULCHED, day), fact(Kind.PLANTED_OUT, OUT, inside=False)]
    [step] = again(summer(facts))
    assert (step.number, step.window.best) == (number, later(best))


def test_or_from_the_day_that_is_given() -> None:
    facts = [*young(), fact(Kind.MULCHED, later(8))]
    [since] = again(summer(facts, later(8)), since=later(8))
    [later_on] = again(summer(facts, later(8)), since=later(9))
    assert (since.number, since.window.best) == (2, later(12))
    assert (later_on.number, later_on.window.best) == (2, later(7))


def test_a_series_for_today_is_not_for_a_plant_that_cannot_have_it() -> None:
    def wound(facts: list[Fact], **more) -> list[Step]:
        in_summer = summer(facts)
        first = after(OUT, 0, 0, 3)
        return in_summer.again("wind_on", Kind.TIED, first, (7, 7, 10), WHY, ends=later(60), **more)

    assert wound(young(out=None))
    assert wound(young(out=None), now=True) == []


# The whole of it


def kinds(facts: list[Fact], today: date, out_on: date = OUT, **more) -> dict[str, Step]:
    outlook = outlook_of(today, **more)
    current = season(outlook.dates, 2026)
    steps = through_the_summer(life_of(facts), current, out_on, outlook, newly_out=True)
    return {step.kind: step for step in steps}


def test_a_pepper_newly_out() -> None:
    assert list(kinds(young(), OUT)) == [
        "water_in", "label", "mulch", "stake", "tie", "flowers_off", "harvest",
    ]  # fmt: skip


def test_a_seedling_late_for_its_best_day_is_set_out_from_today() -> None:
    assert kinds(young(out=None), later(5))["stake"].window.earliest == later(5)
    assert kinds(young(out=None), later(-5))["stake"].window.earliest == OUT
    # One that is out is counted from its day.
    assert kinds(young(), later(5))["stake"].window.earliest == OUT


def test_nothing_is_built_for_a_summer_beyond_what_is_wanted() -> None:
    assert kinds(young(), OUT, until=later(-1)) == {}
    assert set(kinds(young(), OUT, until=OUT)) == {"water_in", "label", "stake", "flowers_off"}
