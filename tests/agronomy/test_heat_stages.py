"""Stages by heat units, with their spread."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import refusal

from lifecycle.agronomy.heat_stages import HeatStage, stage_reached

BUD, BLOOM, FRUIT = STAGES = (
    HeatStage("bud", 100, 20),
    HeatStage("bloom", 200, 30),
    HeatStage("fruit", 300, 0),
)


@pytest.mark.parametrize(
    ("total", "reached", "coming", "surely", "perhaps"),
    [
        (0, None, BUD, None, None),
        (79, None, BUD, None, None),
        (80, None, BUD, None, BUD),
        (100, BUD, BLOOM, None, BUD),
        (119, BUD, BLOOM, None, BUD),
        (120, BUD, BLOOM, BUD, BUD),
        (170, BUD, BLOOM, BUD, BLOOM),
        (200, BLOOM, FRUIT, BUD, BLOOM),
        (230, BLOOM, FRUIT, BLOOM, BLOOM),
        (299.9, BLOOM, FRUIT, BLOOM, BLOOM),
        (300, FRUIT, None, FRUIT, FRUIT),
    ],
)
def test_where_a_total_stands(total, reached, coming, surely, perhaps):
    found = stage_reached(total, STAGES)
    assert (found.reached, found.coming) == (reached, coming)
    assert (found.surely, found.perhaps) == (surely, perhaps)


@given(st.floats(0, 400), st.floats(0, 400))
def test_more_heat_never_goes_back(one, other):
    less, more = (stage_reached(total, STAGES) for total in sorted((one, other)))
    for before, after in ((less.reached, more.reached), (less.surely, more.surely)):
        assert before is None or (after is not None and after.units >= before.units)


def test_refused():
    assert refusal(lambda: stage_reached(-0.1, STAGES)) == (
        "A total of heat units is 0 or more, not -0.1; give such a total."
    )
    assert "not nan" in refusal(lambda: stage_reached(float("nan"), STAGES))
    assert refusal(lambda: stage_reached(1, ())) == (
        "There are no stages to place the heat units among; give at least one."
    )
    assert refusal(lambda: stage_reached(1, (BLOOM, BUD))) == (
        "The stage 'bud' does not come after 'bloom'; give the stages in rising order of heat "
        "units."
    )
    assert "does not come after" in refusal(lambda: stage_reached(1, (BUD, BUD)))
    assert refusal(lambda: stage_reached(1, (HeatStage("bud", 10, -1),))) == (
        "The spread of a stage is negative; give 0 or more heat units."
    )
