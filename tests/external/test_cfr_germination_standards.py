"""Federal germination standards for vegetable seed: 7 CFR 201.31, percent."""

import pytest

from lifecycle.agronomy.seed_test import Standing, lab_standing


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
