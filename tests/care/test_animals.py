"""Burrowing and gnawing animals under and around beds. Common practice, no source."""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care import animals
from lifecycle.care.outlook import Ground
from lifecycle.care.plan import plan
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.summers import OUT, outlook_of, stood_out, young
from tests.care.winters import FREEZE, LIFT, TYPED, edges, out, year
from tests.life.facts import fact, life_of

TODAY = date(2026, 8, 1)
ONE = timedelta(1)
STEM = "Keep mulch {10 cm} off the stem, and put a collar of fine mesh {45 cm} high around it."


def guard(facts: list[Fact] | None = None, **more) -> list[Step]:
    current = more.pop("current", year())
    return animals.guard(life_of(facts or young()), current, outlook_of(TODAY, **more))


def test_a_guard_before_the_frosts() -> None:
    [step] = guard()
    assert edges(step) == ("08-31", "09-14", "09-27")
    assert step.identity == ("guard", 2026, 1)
    assert step.counts_from == step.window.earliest
    assert (step.anchor, step.source) == ("the winter", "practice")
    assert step.reason == (
        "Before the frosts from {2026-09-28} on: voles nest under mulch and gnaw bark. "
        f"{STEM} Nothing is on record that stops them below: look for runs and fresh heaps."
    )


def test_over_wire_only_the_stem_is_guarded() -> None:
    [step] = guard(ground=Ground(wire=True))
    assert step.reason.endswith(
        f"gnaw bark. Wire lies below the bed, so only stems are open to them. {STEM}"
    )


def test_a_guard_only_where_it_winters_in_the_ground_among_frosts() -> None:
    assert guard(ground=Ground(in_pot=True)) == []
    assert guard(dates=replace(TYPED, frosty=False)) == []
    assert guard(current=replace(year(), lift=None, first_freeze_risk=None)) == []
    [step] = guard(current=replace(year(), first_freeze_risk=None))
    assert step.window.latest == LIFT - ONE


def test_a_guard_is_set_once_and_not_built_too_soon() -> None:
    opens = FREEZE - timedelta(28)
    assert guard(out((Kind.GUARDED, opens))) == []
    assert len(guard(out((Kind.GUARDED, opens - ONE)))) == 1
    assert len(guard(until=opens)) == 1
    assert guard(until=opens - ONE) == []


def hurt(*more: tuple, what: str = "animal", day: date = date(2026, 6, 20), **ground) -> list[Step]:
    facts = out((Kind.DAMAGE, day, what), *more)
    outlook = outlook_of(TODAY, ground=Ground(**ground))
    return animals.after_damage(life_of(facts), year(), outlook)


def test_a_guard_after_an_animal_was_at_it() -> None:
    [step] = hurt()
    assert edges(step) == ("06-20", "06-20", "06-23")
    assert step.identity == ("guard", 2026, 2)
    assert (step.counts_from, step.anchor) == (date(2026, 6, 20), "the damage")
    assert step.reason == (
        f"An animal hurt it on {{2026-06-20}}, and comes again. {STEM} Nothing is on record that "
        "stops them below: look for runs and fresh heaps."
    )
    [step] = hurt(in_pot=True)
    assert step.reason.endswith(
        "comes again. Put a collar of fine mesh {45 cm} high around the stem."
    )


def test_only_an_animal_and_only_this_season_and_until_it_is_guarded() -> None:
    assert hurt(what="hail") == []
    assert hurt((Kind.GUARDED, date(2026, 6, 20))) == []
    assert hurt((Kind.DAMAGE, date(2026, 6, 25), "wind")) == []
    [again] = hurt((Kind.GUARDED, date(2026, 6, 21)), (Kind.DAMAGE, date(2026, 6, 25), "animal"))
    assert again.number == 3
    starts = year().starts
    for day, number in ((starts - ONE, None), (starts, 2)):
        facts = [*stood_out(), fact(Kind.DAMAGE, day, choice="animal")]
        steps = animals.after_damage(life_of(facts), year(), outlook_of(TODAY))
        assert [step.number for step in steps] == ([] if number is None else [number])
    old = [*stood_out(), fact(Kind.DAMAGE, starts - ONE, choice="animal")]
    twice = [*old, fact(Kind.DAMAGE, starts, choice="animal")]
    [step] = animals.after_damage(life_of(twice), year(), outlook_of(TODAY))
    assert step.number == 2
    assert animals.after_damage(life_of(young()), year(), outlook_of(TODAY)) == []


def test_it_reaches_the_plan() -> None:
    facts = [*young(), fact(Kind.DAMAGE, OUT, choice="animal")]
    steps = plan(life_of(facts), "annuum", TYPED, OUT)
    assert "guard" in {step.kind for step in steps}
