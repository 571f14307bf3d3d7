"""A value of the handbook: its units, its range, and what the loader refuses."""

from typing import Any

import pytest

from lifecycle.handbook import Fact
from lifecycle.handbook.facts import check_sourced, made_fact
from lifecycle.handbook.loader import made_facts

SOURCES = {"umn": "Minnesota", "practice": "Common practice"}
ROW = {"value": 50, "unit": "F", "source": "umn", "mark": "found"}


@pytest.mark.parametrize(
    ("unit", "value", "si"),
    [
        ("F", 50, 10.0), ("F", 32, 0.0), ("C", 7, 7.0), ("dF", 9, 5.0), ("dC", 2, 2.0),
        ("days", 5, 5), ("weeks", 3, 21), ("months", 12, 365.25), ("years", 2, 730.5),
        ("hours", 16, 16), ("cm", 24, 24), ("in", 4, 10.16), ("ft", 1, 30.48), ("mm", 3, 3),
        ("in water", 1, 25.4), ("m", 2, 2), ("ft altitude", 1000, 304.8), ("m2", 3, 3),
        ("ft2", 50, 4.645152), ("share", 0.1, 0.1), ("percent", 55, 0.55), ("ratio", 2, 2),
        ("count", 20, 20), ("g", 5, 5), ("lb", 1, 453.59237), ("g/m2", 1, 1),
        ("lb/1000ft2", 1, 4.882427636), ("lb/100ft2", 1, 48.82427636),
        ("lb/acre", 43.56, 4.882427636), ("ppm", 375, 375), ("MM-DD", 831, 831),
    ],
)  # fmt: skip
def test_units(unit: str, value: float, si: float) -> None:
    assert Fact("a.b", value, unit, "umn", "found").si == pytest.approx(si)


def test_a_range_has_two_ends() -> None:
    span = Fact("a.b", 41, "F", "umn", "found", to=50)
    assert span.si == pytest.approx(5)
    assert span.si_to == span.si_high == pytest.approx(10)
    one = Fact("a.b", 50, "F", "umn", "found")
    assert one.si_to is None
    assert one.si_high == one.si


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"unit": "furlong"}, "there is no unit “furlong”"),
        ({"source": "moon"}, "the source “moon” is not listed"),
        ({"mark": "heard"}, "there is no mark “heard”"),
        ({"to": 50}, "the range does not rise"),
        ({"to": 40}, "the range does not rise"),
        ({"colour": "red"}, "check the part “colour”"),
        ({"source": "practice"}, "what was read needs its source"),
        ({"mark": "common practice"}, "common practice has no source"),
    ],
)
def test_a_row_that_is_not_whole_is_refused(change: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ValueError, match=f"^Handbook, a.b: {sentence}"):
        made_fact("a.b", {**ROW, **change}, SOURCES)


@pytest.mark.parametrize("part", ["value", "unit", "source", "mark"])
def test_a_row_that_lacks_a_part_is_refused(part: str) -> None:
    row = {name: value for name, value in ROW.items() if name != part}
    with pytest.raises(ValueError, match=f"check the part “{part}”"):
        made_fact("a.b", row, SOURCES)


@pytest.mark.parametrize("mark", ["memory", "derived", "common practice"])
def test_what_was_not_read_may_have_no_source(mark: str) -> None:
    check_sourced("a.b", "practice", mark, SOURCES)


def test_a_group_stands_in_one_file() -> None:
    one = {"sow": {"depth": ROW}}
    assert set(made_facts([one, {"lift": {"night": ROW}}], SOURCES)) == {"sow.depth", "lift.night"}
    with pytest.raises(ValueError, match="the group “sow” stands in two files"):
        made_facts([one, {"sow": {"width": ROW}}], SOURCES)
