"""Life of seed in favourable storage and a test at home: Iowa State University Extension 1999."""

import pytest

from lifecycle.agronomy.seed_test import GerminationTest, SeedAge, seed_age, sow_by


@pytest.mark.parametrize(
    ("life_years", "expected", "test"),
    [
        pytest.param(2, SeedAge.PAST, True, id="pepper"),
        pytest.param(4, SeedAge.WITHIN, False, id="tomato"),
        pytest.param(4, SeedAge.WITHIN, False, id="eggplant"),
    ],
)
def test_packed_three_years_ago(life_years, expected, test):
    found = seed_age(2023, 2026, life_years)
    assert found is expected
    assert found.needs_test is test


def test_pepper_packed_in_2023_is_sown_by_2025():
    assert sow_by(2023, 2) == 2025


def test_fifteen_of_twenty():
    assert GerminationTest(15, 20).share == 0.75
