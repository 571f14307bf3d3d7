"""A doubt is a state: settled by fruit, flower or notes, and a label made anew.

Common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care import identity
from lifecycle.care.plan import plan
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from tests.care.summers import OUT, outlook_of, young
from tests.care.winters import TYPED, edges, inside, out, year
from tests.life.facts import fact, life_of, standing

TODAY = date(2026, 7, 1)
DOUBTED = date(2026, 6, 10)


def settle(facts: list[Fact], crop: str = "annuum", **more) -> dict[str, Step]:
    steps = identity.settle(life_of(facts), year(), outlook_of(TODAY, crop, **more))
    assert len({step.kind for step in steps}) == len(steps)
    return {step.kind: step for step in steps}


def doubt(why: str, *more: tuple) -> list[Fact]:
    return out((Kind.IN_DOUBT, DOUBTED, why), *more)


UNTIL = "Until then its record may be that of another plant."


def test_no_doubt_no_step() -> None:
    assert settle(young()) == {}


def test_a_faded_label_is_settled_by_notes_at_once() -> None:
    step = settle(doubt("faded"))["settle_identity"]
    assert edges(step) == ("06-10", "06-10", "07-10")
    assert step.reason == (
        "In doubt since {2026-06-10}: its label faded. Settle it by the notes, a photo, or what "
        f"stands beside it. {UNTIL}"
    )
    assert step.identity == ("settle_identity", 2026, 1)
    assert (step.counts_from, step.anchor, step.source) == (DOUBTED, "the doubt", "practice")


@pytest.mark.parametrize(
    ("why", "words"),
    [
        ("lost", "its label was lost"),
        ("swapped", "it may have swapped with another"),
        ("", "nobody is sure"),
    ],
)
def test_the_others_wait_for_fruit(why: str, words: str) -> None:
    # 65 days after 25 May.
    step = settle(doubt(why))["settle_identity"]
    assert edges(step) == ("07-29", "07-29", "08-28")
    assert step.reason == (
        f"In doubt since {{2026-06-10}}: {words}. Settle it by its fruit, due about "
        f"{{2026-07-29}}, or sooner by a flower, notes or a photo. {UNTIL}"
    )


@pytest.mark.parametrize("kind", [Kind.FIRST_FLOWER, Kind.PICKED])
def test_it_opens_at_once_when_flower_or_fruit_shows(kind: Kind) -> None:
    step = settle(doubt("swapped", (kind, DOUBTED)))["settle_identity"]
    assert edges(step) == ("06-10", "06-10", "07-10")
    assert "Settle it by its fruit or flower, now that they show." in step.reason


def test_a_flower_before_the_doubt_shows_nothing_but_fruit_on_the_plant_does() -> None:
    before = out((Kind.FIRST_FLOWER, DOUBTED - timedelta(1)), (Kind.IN_DOUBT, DOUBTED, "swapped"))
    assert settle(before)["settle_identity"].window.earliest == date(2026, 7, 29)
    bearing = [
        *standing(Phase.BEARING, inside=False), fact(Kind.IN_DOUBT, DOUBTED, choice="swapped"),
    ]  # fmt: skip
    assert settle(bearing)["settle_identity"].window.earliest == DOUBTED


def test_fruit_is_due_by_the_crop_and_the_day_it_went_out() -> None:
    # A pepper bears 65 days after planting out, a cherry tomato 55 days.
    later = [
        *young(out=date(2026, 6, 4)), fact(Kind.IN_DOUBT, DOUBTED, choice="lost"),
    ]  # fmt: skip
    due = settle(later)["settle_identity"].window.earliest
    assert due == date(2026, 6, 4) + timedelta(65)
    cherry = settle(later, "tomato_cherry")["settle_identity"].window.earliest
    assert cherry == date(2026, 6, 4) + timedelta(55)


def test_of_a_plant_not_out_this_season_the_best_day_counts() -> None:
    rests = [*inside(), fact(Kind.IN_DOUBT, date(2026, 10, 1), choice="lost")]
    steps = identity.settle(life_of(rests), year(2027), outlook_of(date(2026, 10, 2)))
    assert steps[0].window.earliest == OUT.replace(year=2027) + timedelta(65)
    starts = year().starts
    for day, counted in ((starts, starts), (starts - timedelta(1), OUT)):
        facts = [
            fact(Kind.RAISED, date(2025, 9, 1), inside=True, quantity=1),
            fact(Kind.PLANTED_OUT, day, inside=False),
            fact(Kind.IN_DOUBT, starts, choice="lost"),
        ]
        assert settle(facts)["settle_identity"].window.earliest == counted + timedelta(65)


def test_fruit_due_before_the_doubt_opens_it_at_once() -> None:
    late = date(2026, 8, 20)
    step = settle(out((Kind.IN_DOUBT, late, "lost")))["settle_identity"]
    assert step.window.earliest == late


def test_the_new_label_waits_until_it_is_settled() -> None:
    label = settle(doubt("faded"))["renew_label"]
    assert (edges(label), label.waits_for) == (("06-10", "06-10", "06-17"), "settle_identity")
    settled = settle(doubt("faded", (Kind.SETTLED, date(2026, 6, 20), "papers")))
    assert set(settled) == {"renew_label"}
    label = settled["renew_label"]
    assert (edges(label), label.waits_for) == (("06-20", "06-20", "06-27"), "")
    assert label.reason == (
        "Its label is in doubt since {2026-06-10}: write one that lasts, in pencil on metal or by "
        "a garden marker, tie it to the stem and put a second one in the soil."
    )
    assert label.identity == ("renew_label", 2026, 1)
    assert (label.counts_from, label.anchor, label.source) == (DOUBTED, "the doubt", "practice")


def test_a_label_made_since_the_doubt_will_do() -> None:
    assert "renew_label" not in settle(doubt("lost", (Kind.LABELLED, DOUBTED)))
    before = out((Kind.LABELLED, DOUBTED - timedelta(1)), (Kind.IN_DOUBT, DOUBTED, "lost"))
    assert "renew_label" in settle(before)
    done = doubt("lost", (Kind.SETTLED, TODAY, "fruit"), (Kind.LABELLED, TODAY))
    assert settle(done) == {}


def test_a_second_doubt_is_another_step() -> None:
    twice = doubt("lost", (Kind.SETTLED, TODAY, "fruit"), (Kind.IN_DOUBT, TODAY, "swapped"))
    steps = settle(twice)
    assert {step.number for step in steps.values()} == {2}
    assert "it may have swapped with another" in steps["settle_identity"].reason


def test_the_year_is_that_of_the_doubt() -> None:
    dates = replace(TYPED, year_starts_in=7)
    assert settle(doubt("lost"), dates=dates)["settle_identity"].growing_year == 2025
    assert settle(doubt("lost"), dates=dates)["renew_label"].growing_year == 2025


def test_a_doubt_reaches_the_plan_wherever_it_stands() -> None:
    rests = [*inside(), fact(Kind.IN_DOUBT, date(2026, 10, 1), choice="lost")]
    for facts, day in ((doubt("lost"), TODAY), (rests, date(2026, 10, 2))):
        kinds = {step.kind for step in plan(life_of(facts), "annuum", TYPED, day)}
        assert {"settle_identity", "renew_label"} <= kinds
