"""A light cover laid on the crop is worth 2 to 4 F: Colorado State University, GardenNotes 722.

Chilling of peppers below 50 F and death in a light frost: Ontario ministry of agriculture, Extreme
temperature effects on tomato and pepper crops.
"""

import pytest

from lifecycle.agronomy.daily_record import celsius
from lifecycle.agronomy.freeze_class import (
    ColdClass,
    FreezeClass,
    cold_class,
    freeze_class,
    under_cover,
)

LOW_C, HIGH_C = 2 / 1.8, 4 / 1.8


def on_pepper(minimum_c):
    return cold_class(minimum_c, chilling_c=celsius(50), freezing_c=celsius(32))


def test_33_f_under_a_light_cover_still_chills():
    found = under_cover(celsius(33), LOW_C, HIGH_C)
    assert found.low_c == pytest.approx(celsius(35))
    assert found.high_c == pytest.approx(celsius(37))
    assert {on_pepper(found.low_c), on_pepper(found.high_c)} == {ColdClass.CHILLING}
    assert freeze_class(found.low_c) is FreezeClass.NONE


def test_26_f_under_a_light_cover_still_freezes():
    found = under_cover(celsius(26), LOW_C, HIGH_C)
    assert found.low_c == pytest.approx(celsius(28))
    assert found.high_c == pytest.approx(celsius(30))
    assert {on_pepper(found.low_c), on_pepper(found.high_c)} == {ColdClass.FREEZING}
