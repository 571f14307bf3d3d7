"""Worked example of frost-free days published with USDA-NRCS' R package sharpshootR.

Its test file tests/testthat/test-FFD.R runs FFD() on station HHM (Highland Meadows).
A frost there is Tmin below 32 F; the six valid years gave the last and first days below.
"""

import numpy as np
import pytest

from lifecycle.agronomy.freeze import FreezeSeasons, risk_position, whole_day

LAST = np.array([162.0, 165, 161, 170, 165, 168])
FIRST = np.array([249.0, 238, 271, 253, 219, 241])


@pytest.mark.parametrize(("chance", "day"), [(0.5, 165), (0.8, 168), (0.9, 169)])
def test_spring(chance, day):
    # sharpshootR gives 165, 168, 169: the day by which 50, 80, 90 % of last frosts have passed.
    assert risk_position(LAST, 1.0, round(1 - chance, 6), "spring") == pytest.approx(day)


@pytest.mark.parametrize(
    ("chance", "day", "printed"), [(0.5, 245, 245), (0.8, 238, 238), (0.9, 228.5, 228)]
)
def test_autumn(chance, day, printed):
    # sharpshootR gives 245, 238, 228: R rounds 228.5 to the even day, we take the earlier one.
    position = risk_position(FIRST, 1.0, round(1 - chance, 6), "autumn")
    assert position == pytest.approx(day)
    assert whole_day(position, "autumn") == printed


def test_differences_of_the_dates():
    # sharpshootR gives 80, 70, 60 (59.5 before R rounds it).
    for chance, days in [(0.5, 80), (0.8, 70), (0.9, 59.5)]:
        risk = round(1 - chance, 6)
        spring = risk_position(LAST, 1.0, risk, "spring")
        assert risk_position(FIRST, 1.0, risk, "autumn") - spring == pytest.approx(days)


def test_quantiles_of_the_yearly_lengths_are_another_number():
    # Computed independently with numpy from the published dates: 78 / 73 / 63.5. sharpshootR's
    # length is first - last; ours counts the days between, one less.
    seasons = FreezeSeasons(1, np.arange(6), LAST, FIRST, 0)
    lengths = seasons.freeze_free_days() + 1
    assert sorted(lengths) == [54, 73, 73, 83, 87, 110]
    assert np.quantile(lengths, [0.5, 0.2, 0.1]) == pytest.approx([78, 73, 63.5])
