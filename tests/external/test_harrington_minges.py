"""Days from sowing to emergence at constant soil temperature, seed half an inch deep.

Harrington & Minges 1954, printed in Knott's Handbook for Vegetable Growers (1997) and in
Teaching Organic Farming and Gardening (UC Santa Cruz), appendix 4.
"""

import pytest

from lifecycle.agronomy.emergence import days_to_emergence
from lifecycle.handbook import CROPS

NODES_F = (32, 41, 50, 59, 68, 77, 86, 95, 104)
PEPPER = (None, None, None, 25, 13, 8, 8, 9, None)
# Rows of the same table for crops the handbook does not hold yet.
TOMATO = (None, None, 43, 14, 8, 6, 6, 9, None)
EGGPLANT = ((68, 13), (77, 8), (86, 5))


def celsius(degrees_f: float) -> float:
    return (degrees_f - 32) / 1.8


@pytest.mark.parametrize(("node_f", "days"), list(zip(NODES_F, PEPPER, strict=True)))
@pytest.mark.parametrize("species", sorted(CROPS))
def test_pepper_at_the_nodes(species: str, node_f: int, days: int | None) -> None:
    table = CROPS[species].emergence
    assert days_to_emergence(celsius(node_f), table) == days
    assert days_to_emergence(round(celsius(node_f), 2), table) == days


def test_pepper_between_68_and_77_f() -> None:
    # 72.5 F is half-way between 13 and 8 days.
    found = days_to_emergence(celsius(72.5), CROPS["annuum"].emergence)
    assert found == pytest.approx(10.5)


@pytest.mark.parametrize("degrees_f", [20, 31, 50, 54, 58, 96, 104, 120])
def test_pepper_does_not_come_up_where_the_table_has_nothing(degrees_f: float) -> None:
    assert days_to_emergence(celsius(degrees_f), CROPS["annuum"].emergence) is None


def test_pepper_is_never_slower_than_the_nodes_around() -> None:
    table = CROPS["annuum"].emergence
    for tenths in range(590, 951):
        found = days_to_emergence(celsius(tenths / 10), table)
        assert found is not None
        assert 8 <= found <= 25


@pytest.mark.parametrize(("node_f", "days"), list(zip(NODES_F, TOMATO, strict=True)))
def test_tomato_at_the_nodes(node_f: int, days: int | None) -> None:
    table = [(celsius(at), row) for at, row in zip(NODES_F, TOMATO, strict=True)]
    assert days_to_emergence(celsius(node_f), table) == days


def test_eggplant_at_its_three_nodes_and_nowhere_beyond() -> None:
    table = [(celsius(at), days) for at, days in EGGPLANT]
    assert [days_to_emergence(celsius(at), table) for at, _ in EGGPLANT] == [13, 8, 5]
    assert days_to_emergence(celsius(60), table) is None
    assert days_to_emergence(celsius(90), table) is None
