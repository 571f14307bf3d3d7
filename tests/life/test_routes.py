"""Whole lives: from seed through each way to spend the winter, pairs, cuttings, sowings."""

from datetime import date

import pytest

from lifecycle.life.fold import Fact, ImpossibleEntry, fold
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PLANT_PHASES, Phase, Route
from tests.life.facts import BED, ROOM, diary, fact, life_of, standing

INSIDE, OUTSIDE = {"inside": True}, {"inside": False}
FIRST_SUMMER = (
    (Kind.RAISED, 4, 20, {"inside": True, "quantity": 1, "holder": 7}),
    (Kind.HARDENING, 5, 11),
    (Kind.PLANTED_OUT, 5, 25, OUTSIDE),
    (Kind.FED, 6, 18),
    (Kind.FIRST_FLOWER, 6, 25),
    (Kind.PICKED, 8, 1, {"quantity": 300}),
)
LIFTED = (
    (Kind.REVIEWED, 9, 1, {"choice": "resting"}),
    (Kind.LIFTED, 9, 25),
    (Kind.CUT_BACK, 9, 25, {"quantity": 10}),
)


def phases(facts: list[Fact]) -> list[str]:
    return [span.phase.value for span in life_of(facts).spans]


def next_year(month: int, day: int, kind: Kind, **more) -> tuple:
    return (kind, month, day, {"year": 2027, **more})


def test_lifted_and_resting_back_to_the_bed() -> None:
    facts = diary(
        *FIRST_SUMMER,
        *LIFTED,
        (Kind.WINTER_QUARTERS, 9, 26, {"inside": True, "choice": "resting"}),
        next_year(4, 10, Kind.WOKEN),
        next_year(4, 20, Kind.FIRST_GROWTH),
        next_year(5, 11, Kind.HARDENING),
        next_year(5, 25, Kind.PLANTED_OUT, inside=False),
    )
    assert phases(facts) == [
        *("seedling", "hardening", "establishing", "growing", "bearing"),
        *("growing", "resting", "waking", "hardening", "establishing"),
    ]
    life = life_of(facts)
    assert (life.times_planted_out, life.planted_out_on) == (2, date(2027, 5, 25))
    assert (life.place, life.under_roof, life.holder) == (BED, False, 7)
    # The new summer starts with nothing decided and nothing lifted.
    assert (life.route, life.lifted_on, life.quarters_on) == (None, None, None)
    assert life.feeds_since_out == 0
    in_winter = life_of(facts[:-4])
    assert (in_winter.route, in_winter.place) == (Route.RESTING, ROOM)


def test_lifted_and_growing_on_keeps_its_phase() -> None:
    facts = diary(
        *FIRST_SUMMER,
        (Kind.REVIEWED, 9, 1, {"choice": "growing_on"}),
        (Kind.LIFTED, 9, 25),
        (Kind.WINTER_QUARTERS, 9, 26, {"inside": True, "choice": "growing_on"}),
        (Kind.PICKED, 12, 24, {"quantity": 40}),
        next_year(5, 11, Kind.HARDENING),
        next_year(5, 25, Kind.PLANTED_OUT, inside=False),
    )
    assert phases(facts)[-3:] == ["bearing", "hardening", "establishing"]
    assert life_of(facts[:-2]).route is Route.GROWING_ON


def test_in_the_ground_rests_wakes_and_bears_where_it_stands() -> None:
    facts = diary(
        *FIRST_SUMMER,
        (Kind.REVIEWED, 9, 1, {"choice": "in_ground"}),
        (Kind.COVERED, 11, 20),
        (Kind.UNCOVERED, 11, 21),
        (Kind.GONE_TO_REST, 12, 10),
        next_year(3, 1, Kind.CUT_BACK, quantity=20),
        next_year(3, 20, Kind.FIRST_GROWTH),
        next_year(4, 1, Kind.FED),
        next_year(5, 20, Kind.PICKED),
    )
    assert phases(facts)[-5:] == ["bearing", "resting", "waking", "growing", "bearing"]
    assert life_of(facts).times_planted_out == 1


@pytest.mark.parametrize("first", [Kind.FIRST_FLOWER, Kind.FED, Kind.FIRST_GROWTH])
def test_a_plant_that_wakes_in_the_bed_grows_on_there(first: Kind) -> None:
    facts = [*standing(Phase.WAKING, inside=False), fact(first, date(2026, 4, 1))]
    assert life_of(facts).phase is Phase.GROWING


def test_a_pair_counts_two_until_it_is_split() -> None:
    pair = diary((Kind.RAISED, 4, 20, {"inside": True, "quantity": 2}))
    assert life_of(pair).count == 2
    split = [*pair, fact(Kind.SPLIT, date(2026, 5, 1))]
    assert life_of(split).count == 1
    with pytest.raises(ImpossibleEntry, match="Only a pair can be split"):
        fold("plant", [*split, fact(Kind.SPLIT, date(2026, 5, 2))])
    other = [fact(Kind.SPLIT_OFF, date(2026, 5, 1), inside=True, quantity=1, choice="bearing")]
    assert (life_of(other).phase, life_of(other).count) == (Phase.BEARING, 1)


@pytest.mark.parametrize("phase", PLANT_PHASES)
def test_inherited_in_any_phase_of_a_plant(phase: Phase) -> None:
    life = life_of(standing(phase, inside=False, number=2))
    assert (life.phase, life.count, life.under_roof) == (phase, 2, False)
    assert life.phase_since == life.began_on


def test_inherited_without_a_place_stands_where_its_phase_says() -> None:
    day = date(2026, 1, 1)
    bearing = life_of([fact(Kind.INHERITED, day, quantity=1, choice="bearing")])
    resting = life_of([fact(Kind.INHERITED, day, quantity=1, choice="resting")])
    assert (bearing.under_roof, resting.under_roof) == (False, True)


def test_a_cutting_begins_as_a_seedling() -> None:
    facts = diary((Kind.STRUCK_CUTTING, 8, 20, {"inside": True, "quantity": 1}))
    assert life_of(facts).phase is Phase.SEEDLING


def test_a_sowing_from_plan_to_the_last_pot() -> None:
    facts = diary(
        (Kind.PLANNED, 1, 5),
        (Kind.SOWN, 3, 1, {"quantity": 20, "inside": True}),
        (Kind.WATERED, 3, 3),
        (Kind.EMERGED, 3, 10, {"quantity": 9}),
        (Kind.EMERGED, 3, 14, {"quantity": 15}),
        (Kind.POTTED_UP, 3, 25, {"quantity": 6}),
        (Kind.POTTED_UP, 3, 28, {"quantity": 9}),
        (Kind.ENDED, 3, 28, {"choice": "done"}),
    )
    life = life_of(facts, "sowing")
    assert (life.seeds_sown, life.emerged, life.potted_up) == (20, 15, 15)
    assert (life.phase, life.ended_how, life.ended_on) == (Phase.ENDED, "done", date(2026, 3, 28))
    # Emerged again while seedlings grow opens no new stretch.
    assert [span.phase.value for span in life.spans] == ["planned", "sown", "seedling", "ended"]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (((Kind.EMERGED, 3, 10, {"quantity": 21}),), "21 seedlings cannot come from 20 seeds"),
        (((Kind.POTTED_UP, 3, 10, {"quantity": 21}),), "21 plants cannot come from 20 seeds"),
        (
            ((Kind.POTTED_UP, 3, 9, {"quantity": 12}), (Kind.POTTED_UP, 3, 10, {"quantity": 9})),
            "21 plants cannot come from 20 seeds",
        ),
    ],
)
def test_more_cannot_come_than_was_sown(rows: tuple, words: str) -> None:
    facts = diary((Kind.SOWN, 3, 1, {"quantity": 20}), *rows)
    with pytest.raises(ImpossibleEntry, match=words):
        fold("sowing", facts)


@pytest.mark.parametrize(
    ("phase", "inside", "kind", "words"),
    [
        (Phase.SEEDLING, True, Kind.PICKED, "Log “Planted out” first."),
        (Phase.RESTING, True, Kind.PICKED, "Log “First growth” first."),
        (Phase.RESTING, True, Kind.PLANTED_OUT, "Log “First growth” first."),
        (Phase.GROWING, False, Kind.PLANTED_OUT, "Log “Lifted” or “Into winter quarters” first."),
        (Phase.BEARING, True, Kind.LIFTED, "Log “Planted out” first."),
        (Phase.ENDED, False, Kind.PICKED, "this record ended on 1 January 2026. Strike that entry"),
        (Phase.HARDENING, True, Kind.WOKEN, "It is logged while a plant is resting."),
    ],
)
def test_a_refusal_says_what_to_log_first(
    phase: Phase, inside: bool, kind: Kind, words: str
) -> None:
    with pytest.raises(ImpossibleEntry) as refusal:
        fold("plant", [*standing(phase, inside=inside), fact(kind, date(2026, 2, 1))])
    assert words in str(refusal.value)


def test_nothing_stands_before_the_beginning() -> None:
    facts = [*standing(Phase.GROWING, inside=False), fact(Kind.WATERED, date(2025, 12, 31))]
    with pytest.raises(ImpossibleEntry, match="31 December 2025 stands before the record begins"):
        fold("plant", facts)


def test_what_was_lifted_may_be_planted_again_the_same_day() -> None:
    # Moved from one bed to another: out of the ground is under no roof.
    facts = diary(*FIRST_SUMMER, (Kind.LIFTED, 8, 10), (Kind.PLANTED_OUT, 8, 10, {"inside": False}))
    life = life_of(facts)
    assert (life.phase, life.lifted_on) == (Phase.ESTABLISHING, None)


def test_the_first_lifting_and_the_first_room_count() -> None:
    facts = diary(
        *FIRST_SUMMER,
        *LIFTED,
        (Kind.LIFTED, 10, 5),
        (Kind.WINTER_QUARTERS, 10, 6, {"inside": True, "choice": "resting"}),
        (Kind.WINTER_QUARTERS, 12, 1, {"inside": True, "choice": "resting"}),
    )
    life = life_of(facts)
    assert (life.lifted_on, life.quarters_on) == (date(2026, 9, 25), date(2026, 10, 6))


def test_a_pot_carried_out_of_its_quarters_stands_out_from_that_day() -> None:
    facts = diary(
        *FIRST_SUMMER,
        (Kind.WINTER_QUARTERS, 9, 26, {"inside": True, "choice": "growing_on"}),
        next_year(5, 20, Kind.MOVED, inside=False),
        next_year(9, 20, Kind.WINTER_QUARTERS, inside=True, choice="growing_on"),
    )
    summer, autumn = life_of(facts[:-1]), life_of(facts)
    assert (summer.planted_out_on, summer.quarters_on) == (date(2027, 5, 20), None)
    assert not summer.under_roof
    assert autumn.quarters_on == date(2027, 9, 20)


def test_what_the_last_entries_of_a_kind_say() -> None:
    life = life_of(diary(*FIRST_SUMMER))
    assert life.since(Kind.FED, date(2026, 6, 18)) == date(2026, 6, 18)
    assert life.since(Kind.FED, date(2026, 6, 19)) is None
    assert life.since(Kind.LIFTED, None) is None
    assert life.alive
    assert life.outside
    assert not life_of(diary(*FIRST_SUMMER[:2])).outside


def test_no_entries_make_no_life() -> None:
    assert fold("plant", []) is None
