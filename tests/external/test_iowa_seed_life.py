"""Life of seed in favourable storage and a test at home: Iowa State University Extension 1999."""

from datetime import date

import pytest

from lifecycle.agronomy.seed_test import GerminationTest, SeedAge, seed_age, sow_by
from lifecycle.care.policy import DEFAULTS
from lifecycle.care.seed_advice import SeedTest, lot_advice
from lifecycle.handbook import CROPS


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


@pytest.mark.parametrize(
    ("key", "needs_test"),
    [("annuum", True), ("tomato_indeterminate", False), ("eggplant", False)],
)
def test_packed_three_years_ago_by_the_handbooks_lives(key: str, needs_test: bool) -> None:
    assert lot_advice(CROPS[key], 2023, None, 2026, DEFAULTS).needs_test is needs_test


def test_fifteen_of_twenty_is_what_a_lot_is_sown_by() -> None:
    tested = SeedTest(15, 20, date(2026, 2, 1))
    assert lot_advice(CROPS["annuum"], 2023, tested, 2026, DEFAULTS).share == 0.75
