"""Seven nights against the two floors, at their edges and in either unit."""

import pytest

from lifecycle.care.readiness import Readiness, readiness
from lifecycle.care.wording import in_units

WARM = [16.0] * 6


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


@pytest.mark.parametrize(
    ("low_c", "answer"),
    [
        (f(55), Readiness.READY),
        (round(f(55), 2), Readiness.READY),  # as whole degrees F are stored
        (12.8, Readiness.READY),  # as a thermometer in tenths shows 55 F
        (12.78, Readiness.READY),
        (12.7, Readiness.ALLOWED),
        (f(54), Readiness.ALLOWED),
        (f(50), Readiness.ALLOWED),
        (10.0, Readiness.ALLOWED),
        (9.9, Readiness.HOLD),
        (f(49), Readiness.HOLD),
        (-3.0, Readiness.HOLD),
    ],
)
def test_the_edges(low_c: float, answer: Readiness) -> None:
    verdict = readiness([low_c, *WARM])
    assert verdict.answer is answer
    assert verdict.lowest_c == low_c


@pytest.mark.parametrize("whole_f", range(40, 66))
def test_every_whole_degree_f_lands_on_its_own_side(whole_f: int) -> None:
    stored = round(f(whole_f), 2)
    in_tenths = round(f(whole_f), 1)
    wanted = (
        Readiness.READY if whole_f >= 55 else Readiness.ALLOWED if whole_f >= 50 else Readiness.HOLD
    )
    assert readiness([stored, *WARM]).answer is wanted
    assert readiness([in_tenths, *WARM]).answer is wanted


def test_the_coldest_night_decides_wherever_it_stands() -> None:
    for place in range(7):
        nights = [16.0] * 7
        nights[place] = 9.0
        assert readiness(nights).answer is Readiness.HOLD


@pytest.mark.parametrize("number", [0, 6, 8])
def test_seven_nights_are_wanted(number: int) -> None:
    with pytest.raises(ValueError, match=f"not {number}"):
        readiness([15.0] * number)


def test_the_reason_reads_in_either_unit() -> None:
    reason = readiness([f(52), *WARM]).reason
    assert in_units(reason, "F").startswith(
        "The coldest of the seven nights is 52 °F, below 55 °F: planting out is allowed"
    )
    assert "11.1 °C, below 12.8 °C" in in_units(reason, "C")
