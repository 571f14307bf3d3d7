"""Federal germination standards for vegetable seed: 7 CFR 201.31, percent."""

import pytest

from lifecycle.agronomy.seed_test import Standing, lab_standing
from lifecycle.handbook import CROPS


@pytest.mark.parametrize(
    ("found", "standard", "expected"),
    [
        pytest.param(54, 55, Standing.BELOW, id="pepper"),
        pytest.param(74, 75, Standing.BELOW, id="tomato"),
        pytest.param(60, 60, Standing.MEETS, id="eggplant"),
    ],
)
def test_laboratory_percentages(found, standard, expected):
    assert lab_standing(found / 100, standard / 100) is expected


PRINTED = {
    "annuum": 55, "tomato_semi": 75, "eggplant": 60, "bean": 70, "pea": 80, "lettuce": 80,
    "onion": 70,
}  # fmt: skip


@pytest.mark.parametrize("key", PRINTED)
def test_the_handbook_carries_the_standards(key):
    assert CROPS[key].fact("germination_standard").si == pytest.approx(PRINTED[key] / 100)


@pytest.mark.parametrize("key", PRINTED)
def test_a_lot_at_the_standard_meets_it_and_one_percent_less_does_not(key):
    standard = CROPS[key].fact("germination_standard").si
    assert lab_standing(PRINTED[key] / 100, standard) is Standing.MEETS
    assert lab_standing((PRINTED[key] - 1) / 100, standard) is Standing.BELOW
