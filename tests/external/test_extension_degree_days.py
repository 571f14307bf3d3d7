"""The 86/50 rule in published examples.

Waushara Argus, "Calculating growing degree days", 25 April 2018 (a newspaper's reprint of text in
the style of extension); Karhoff, Ohio State University Extension, at wfin.com, 12 June 2023; Iowa
State University, Agronomy 541.
"""

import pytest

from lifecycle.agronomy.heat_units import Method, accumulated, day_units, heat_units


@pytest.mark.parametrize(
    ("tmax", "tmin", "expected"),
    [(90, 65, 25.5), (72, 46, 11), (63, 42, 6.5), (87, 63, 24.5), (70, 50, 10)],
)
def test_printed_days(tmax, tmin, expected):
    assert day_units(tmin, tmax, Method.MODIFIED, 50, 86) == expected


def test_the_three_days_of_the_newspaper_add_up():
    units = heat_units([65, 46, 42], [90, 72, 63], Method.MODIFIED, 50, 86)
    assert accumulated(units)[-1] == 43
