"""N. Frillman, University of Illinois Extension educator, 2022: never under 55 F for peppers."""

import pytest

from lifecycle.care.readiness import Readiness, allows, readiness
from lifecycle.handbook import fact

FLOOR_C = fact("plant_out.ready_night").si


def test_a_night_of_52_f_holds_peppers_back() -> None:
    lows = [(52 - 32) / 1.8] * 7
    assert fact("plant_out.ready_night").si == pytest.approx(12.78, abs=0.003)
    assert readiness(lows, ready_c=FLOOR_C, allowed_c=FLOOR_C).answer is Readiness.HOLD


def test_nights_of_55_f_do_not() -> None:
    assert readiness([(55 - 32) / 1.8] * 7).answer is Readiness.READY


def test_by_this_source_alone_52_f_is_held() -> None:
    assert not allows((52 - 32) / 1.8, FLOOR_C)
    assert not allows((54 - 32) / 1.8, FLOOR_C)
    assert allows((55 - 32) / 1.8, FLOOR_C)
