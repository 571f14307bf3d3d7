"""Hourly temperatures after Linvill 1990, HortScience 25:14-16.

The curve is the one that the package chillR 0.77 carries; the example's numbers were computed
independently from it, and the hours below 50 F from the sine's closed form.
"""

import pytest

from lifecycle.agronomy.hourly import hours_below, linvill


@pytest.mark.parametrize(
    ("hour", "expected"), [(7, 12.926), (14, 25.0), (18, 20.607), (24, 11.801), (30, 9.0)]
)
def test_a_day_from_10_to_25_and_down_to_9(hour, expected):
    found = linvill(hour, (10, 25, 9), sunrise=6, sunset=18, next_sunrise=6)
    assert found == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("tmax", "expected"), [(60, 12), (80, 8)])
def test_hours_below_50(tmax, expected):
    assert hours_below(40, tmax, 50) == pytest.approx(expected, abs=1e-12)
