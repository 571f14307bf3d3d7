"""Percent normal seedlings by soil temperature, the companion of the days-to-emergence table.

"Germination versus temperature", after Harrington & Minges; as printed on highanddryfarm.com.
"""

import pytest

from lifecycle.agronomy.emergence import normal_share, seeds_for
from lifecycle.handbook import CROPS

PEPPER = {50: 1, 59: 70, 68: 96, 77: 98, 86: 95, 95: 70, 104: 0}


def share_at(degrees_f: float) -> float | None:
    return normal_share((degrees_f - 32) / 1.8, CROPS["annuum"].normal)


@pytest.mark.parametrize(("degrees_f", "percent"), list(PEPPER.items()))
def test_pepper_at_the_nodes(degrees_f: int, percent: int) -> None:
    assert share_at(degrees_f) == pytest.approx(percent / 100)


def test_off_the_table_nothing_is_said() -> None:
    assert share_at(45) is None
    assert share_at(110) is None


def test_seeds_for_twelve_plants() -> None:
    # Derived from the table: 12 / 0.70, rounded up, from a lot that is wholly alive.
    share = share_at(59)
    assert share is not None
    assert seeds_for(12, share) == 18
    # Half of the lot alive: twice the seed.
    assert seeds_for(12, share, viable=0.5) == 35
    assert seeds_for(7, 0.7) == 10
    assert seeds_for(12, 0.0) is None
    assert seeds_for(12, 0.7, viable=0.0) is None


def test_more_seed_never_follows_from_a_better_bench() -> None:
    needed = [seeds_for(12, share_at(degrees_f) or 0.0) for degrees_f in range(51, 78)]
    assert None not in needed
    assert needed == sorted(needed, key=lambda seeds: -(seeds or 0))
