"""Feeding by crop, brought forward after cold shock, and the last feed of a season.

Three to four weeks after planting out: Pepper, Clemson Home & Garden Information Center. Every three
weeks, 2-4-2 and the answer to cold shock are common practice, no source.
"""

from datetime import date, timedelta

import pytest

from lifecycle.care.growing import feeds
from lifecycle.care.seasons import season_at
from lifecycle.care.steps import Step
from lifecycle.life.kinds import Kind
from tests.care.summers import OUT, fact, kept, later, outlook_of, window, young
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


def test_partners_are_not_fed_in_rounds() -> None:
    assert fed(young(), OUT, "bean") == []


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

    assert window(first(28), later(28)) == (0, 0, 7)
    assert window(first(29)) == (21, 24, 28)
    assert window(first(4, newly=False)) == (0, 7, 21)
    before = young(out=None)
    before += [fact(Kind.DAMAGE, later(-3), choice="cold")]
    before += [fact(Kind.PLANTED_OUT, OUT, inside=False)]
    assert window(fed(before, OUT)[0]) == (21, 24, 28)
    given = [*shocked(Kind.DAMAGE, later(4), "cold"), fact(Kind.FED, later(5))]
    assert [step.kind for step in fed(given, later(5))][0] == "feed"


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
