"""The published table of half-zones."""

import pytest

from lifecycle.agronomy.hardiness import half_zone, half_zone_edges_f, half_zone_number

# USDA Plant Hardiness Zone table in both units, as printed in the Permaculture wiki's "Hardiness
# zone" (en.permawiki.org/wiki/Hardiness_zone).
TABLE = """
1a -60 -55 -51.1 -48.3 | 1b -55 -50 -48.3 -45.6 | 2a -50 -45 -45.6 -42.8 | 2b -45 -40 -42.8 -40.0
3a -40 -35 -40.0 -37.2 | 3b -35 -30 -37.2 -34.4 | 4a -30 -25 -34.4 -31.7 | 4b -25 -20 -31.7 -28.9
5a -20 -15 -28.9 -26.1 | 5b -15 -10 -26.1 -23.3 | 6a -10 -5 -23.3 -20.6 | 6b -5 0 -20.6 -17.8
7a 0 5 -17.8 -15.0 | 7b 5 10 -15.0 -12.2 | 8a 10 15 -12.2 -9.4 | 8b 15 20 -9.4 -6.7
9a 20 25 -6.7 -3.9 | 9b 25 30 -3.9 -1.1 | 10a 30 35 -1.1 1.7 | 10b 35 40 1.7 4.4
11a 40 45 4.4 7.2 | 11b 45 50 7.2 10.0 | 12a 50 55 10.0 12.8 | 12b 55 60 12.8 15.6
13a 60 65 15.6 18.3 | 13b 65 70 18.3 21.1
"""
ROWS = [row.split() for row in TABLE.replace("|", "\n").strip().splitlines()]


def test_the_table_is_whole():
    assert len(ROWS) == 26


@pytest.mark.parametrize(("name", "low_f", "high_f", "low_c", "high_c"), ROWS)
def test_half_zone_in_both_units(name, low_f, high_f, low_c, high_c):
    assert half_zone_edges_f(name) == (int(low_f), int(high_f))
    assert half_zone(int(low_f)) == name
    assert half_zone(int(high_f) - 0.001) == name
    assert (int(low_f) - 32) / 1.8 == pytest.approx(float(low_c), abs=0.05)
    assert (int(high_f) - 32) / 1.8 == pytest.approx(float(high_c), abs=0.05)


# Own rule on the edges (lower edge inclusive) over the USDA bands.
@pytest.mark.parametrize(
    ("mean_f", "name"),
    [
        (-60, "1a"),
        (-20, "5a"),
        (-15, "5b"),
        (-15.0001, "5a"),
        (0, "7a"),
        (29.999, "9b"),
        (30, "10a"),
        (69.999, "13b"),
        (70, "warmer than 13b"),
        (-60.001, "colder than 1a"),
    ],
)
def test_edges(mean_f, name):
    assert half_zone(mean_f) == name


def test_edges_given_in_celsius_do_not_fall_a_half_zone_low():
    # -20 F is -28.888... C; the way back must still be the lower edge of 5a, number 8.
    for low_f in range(-60, 70, 5):
        degrees_c = (low_f - 32) / 1.8
        assert half_zone_number(degrees_c * 1.8 + 32) == (low_f + 60) // 5
