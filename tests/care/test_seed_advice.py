"""What a seed lot is worth by age and by test, and how much of it to sow."""

from datetime import date

import pytest

from lifecycle.agronomy.seed_test import SeedAge, Standing
from lifecycle.care.policy import DEFAULTS, policy_of
from lifecycle.care.seed_advice import (
    SeedTest,
    lot_advice,
    room_c,
    seed_life,
    seeds_wanted,
)
from lifecycle.handbook import CROPS
from tests.care.beds import a_crop

PEPPER, TOMATO = CROPS["annuum"], CROPS["tomato_semi"]
GOOD = SeedTest(19, 20, date(2026, 2, 1))


def test_pepper_seed_lives_as_the_setting_says_and_others_as_published() -> None:
    assert seed_life(PEPPER, DEFAULTS) == (2, "iowa_seed")
    assert seed_life(PEPPER, policy_of({"pepper_seed_life": "3"})) == (3, "watts")
    life = seed_life(TOMATO, DEFAULTS)
    assert life is not None
    assert life[0] == 4
    assert seed_life(a_crop(group="partner"), DEFAULTS) is None
    assert seed_life(a_crop(group="partner", seed_life=6), DEFAULTS) == (6, "fao56")


@pytest.mark.parametrize(
    ("year", "age", "needs", "said"),
    [
        (2024, SeedAge.FRESH, False, "Sow by the end of 2026; after that test it first."),
        (2025, SeedAge.WITHIN, False, "Sow by the end of 2026; after that test it first."),
        (2026, SeedAge.LAST_YEAR, False, "Sow it this year: 2026 is the last year of its life."),
        (2027, SeedAge.PAST, True, "Past its life since 2026: test it before you rely on it."),
    ],
)
def test_age_says_whether_to_test(year: int, age: SeedAge, needs: bool, said: str) -> None:
    found = lot_advice(PEPPER, 2024, None, year, DEFAULTS)
    assert (found.age, found.sow_by, found.needs_test) == (age, 2026, needs)
    assert found.sentence == said
    assert (found.share, found.interval, found.standing) == (None, None, None)


def test_seed_of_unknown_age_is_tested_first() -> None:
    found = lot_advice(PEPPER, None, None, 2026, DEFAULTS)
    assert (found.age, found.sow_by, found.needs_test) == (None, None, True)
    assert found.sentence == (
        "How old it is nobody knows, or how long such seed stays good. Test it first."
    )
    lifeless = lot_advice(a_crop(group="partner"), 2025, None, 2026, DEFAULTS)
    assert lifeless.needs_test
    assert (lifeless.source, lifeless.standard) == ("", None)


def test_a_test_goes_before_age() -> None:
    found = lot_advice(PEPPER, 2020, GOOD, 2026, DEFAULTS)
    assert found.age is SeedAge.PAST
    assert not found.needs_test
    assert found.share == 0.95
    assert found.standing is Standing.MEETS
    assert found.standard == pytest.approx(0.55)
    assert found.sentence == "Sow by the test."
    assert found.interval is not None
    assert found.interval.low < 0.95 < found.interval.high


@pytest.mark.parametrize(
    ("sprouted", "standing", "said"),
    [
        (
            10,
            Standing.BELOW,
            "Below the standard for seed on sale: sow more of it, or get fresh seed.",
        ),
        (
            11,
            Standing.MAY_BE_BELOW,
            "It meets the standard as counted, but so few seeds tell little: sow some more.",
        ),
    ],
)
def test_a_test_stands_against_the_federal_standard(
    sprouted: int, standing: Standing, said: str
) -> None:
    found = lot_advice(PEPPER, 2026, SeedTest(sprouted, 20, GOOD.tested_on), 2026, DEFAULTS)
    assert found.standing is standing
    assert found.sentence == said


def test_a_test_of_a_crop_without_a_standard_still_counts() -> None:
    found = lot_advice(a_crop(group="partner"), None, GOOD, 2026, DEFAULTS)
    assert (found.standing, found.share, found.needs_test) == (None, 0.95, False)
    assert found.sentence == "Sow by the test."


def test_a_test_too_old_counts_no_more() -> None:
    old = SeedTest(19, 20, date(2023, 2, 1), counts=False)
    found = lot_advice(PEPPER, 2025, old, 2026, DEFAULTS)
    assert (found.share, found.standing, found.needs_test) == (None, None, False)
    assert found.sentence == "The test of {2023-02-01} is too old to go by. Test it again."
    assert lot_advice(PEPPER, 2020, old, 2026, DEFAULTS).needs_test


def test_a_lot_from_a_later_year_is_refused() -> None:
    with pytest.raises(ValueError, match="Seed packed in 2027"):
        lot_advice(PEPPER, 2027, None, 2026, DEFAULTS)


def test_seeds_to_sow_follow_warmth_and_the_test() -> None:
    at_59 = (59 - 32) / 1.8
    assert seeds_wanted(PEPPER, 12, at_59, 1.0) == 18
    assert seeds_wanted(PEPPER, 12, at_59, 0.5) == 35
    assert seeds_wanted(PEPPER, 1, 25.0, 1.0) == 2
    assert seeds_wanted(PEPPER, 12, 40.0, 1.0) is None
    assert seeds_wanted(PEPPER, 12, 25.0, 0.0) is None
    assert seeds_wanted(PEPPER, 12, 2.0, 1.0) is None
    assert room_c() == 25.0


def test_seeds_to_sow_needs_plants_and_a_table() -> None:
    with pytest.raises(ValueError, match=r"^Say for how many plants to sow; give 1 or more"):
        seeds_wanted(PEPPER, 0, 25.0, 1.0)
    with pytest.raises(
        ValueError,
        match=r"^How much Made-up crop comes up by soil temperature is not published; sow",
    ):
        seeds_wanted(a_crop(), 12, 25.0, 1.0)
