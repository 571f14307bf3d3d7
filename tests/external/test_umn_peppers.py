"""Growing peppers in home gardens, University of Minnesota Extension: nights above 50 F."""

import pytest

from lifecycle.care.readiness import Readiness, allows, readiness
from lifecycle.handbook import CROPS, fact

FLOOR_C = fact("plant_out.allowed_night").si


def test_a_night_of_52_f_lets_peppers_out() -> None:
    lows = [(52 - 32) / 1.8] * 7
    assert fact("plant_out.allowed_night").si == pytest.approx(10.0)
    assert readiness(lows, ready_c=FLOOR_C, allowed_c=FLOOR_C).answer is Readiness.READY
    # With both rules at hand the two sources together make it a warning.
    assert readiness(lows).answer is Readiness.ALLOWED


def test_a_night_of_49_f_does_not() -> None:
    lows = [(49 - 32) / 1.8] * 7
    assert readiness(lows, ready_c=FLOOR_C, allowed_c=FLOOR_C).answer is Readiness.HOLD


def test_sowing_is_eight_weeks_ahead() -> None:
    # The same leaflet sows eight weeks before planting out; Michigan State says eight to ten.
    assert CROPS["annuum"].sow_weeks == (8, 10)


def test_by_this_source_alone_52_f_is_allowed() -> None:
    assert allows((52 - 32) / 1.8, FLOOR_C)
    assert allows((50 - 32) / 1.8, FLOOR_C)
    assert not allows((49 - 32) / 1.8, FLOOR_C)
