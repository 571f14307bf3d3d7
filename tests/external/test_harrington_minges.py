"""Days from sowing to emergence at constant soil temperature, seed half an inch deep.

Harrington & Minges 1954, printed in Knott's Handbook for Vegetable Growers (1997) and in
Teaching Organic Farming and Gardening (UC Santa Cruz), appendix 4. Snap bean at 95 F is left out:
copies disagree on it.
"""

import pytest

from lifecycle.agronomy.emergence import days_to_emergence
from lifecycle.handbook import CROPS

NODES_F = (32, 41, 50, 59, 68, 77, 86, 95, 104)
ROWS: dict[str, tuple[int | None, ...]] = {
    "pepper": (None, None, None, 25, 13, 8, 8, 9, None),
    "tomato": (None, None, 43, 14, 8, 6, 6, 9, None),
    "lettuce": (49, 15, 7, 4, 3, 2, 3, None, None),
    "onion": (136, 31, 13, 7, 5, 4, 4, 13, None),
    "bean": (None, None, None, 16, 11, 8, 6),
    # Not tested below, and above, these.
    "pea": (None, 36, 14, 9, 8, 6, 6),
    "eggplant": (None, None, None, None, 13, 8, 5),
}
CELLS = [
    (crop.key, node_f, days)
    for crop in CROPS.values()
    if (row := crop.group if crop.group in ROWS else crop.key) in ROWS
    for node_f, days in zip(NODES_F, ROWS[row], strict=False)
]


def celsius(degrees_f: float) -> float:
    return (degrees_f - 32) / 1.8


@pytest.mark.parametrize(("key", "node_f", "days"), CELLS)
def test_days_at_the_nodes(key: str, node_f: int, days: int | None) -> None:
    table = CROPS[key].emergence
    assert days_to_emergence(celsius(node_f), table) == days
    assert days_to_emergence(round(celsius(node_f), 2), table) == days


def test_crops_without_a_row_have_no_table() -> None:
    assert {key for key, _, _ in CELLS} == {
        key for key, crop in CROPS.items() if crop.emergence != ()
    }


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


def test_eggplant_comes_up_nowhere_beyond_what_was_tested() -> None:
    for degrees_f in (60, 67, 87, 90):
        assert days_to_emergence(celsius(degrees_f), CROPS["eggplant"].emergence) is None
