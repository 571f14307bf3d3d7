"""The facts of the trade: whole, sourced, in their units, and used."""

import re
from pathlib import Path

import pytest

from lifecycle.care.catalogue import STEP_RULES, steps_done_by
from lifecycle.care.seasons import season
from lifecycle.handbook import CAUTIONS, CROPS, FACTS, SOURCES, Fact, days, fact
from lifecycle.handbook.loader import MARKS, UNITS
from lifecycle.life.kinds import RULES, Kind
from tests.care.sites import INVENTED, REAL, site

ROOT = Path(__file__).resolve().parents[2] / "lifecycle"
CODE = "\n".join(
    path.read_text() for room in ("care", "agronomy", "life") for path in (ROOT / room).glob("*.py")
)


@pytest.mark.parametrize("key", sorted(FACTS))
def test_a_fact_has_a_source_a_mark_and_a_unit(key: str) -> None:
    known = FACTS[key]
    assert known.source in SOURCES
    assert known.mark in MARKS
    assert known.unit in UNITS
    # What has no source says so by its mark, and the other way round.
    assert (known.source == "practice") is (known.mark in ("common practice", "memory")) or (
        known.mark == "derived"
    )


@pytest.mark.parametrize("key", sorted(CROPS))
def test_a_crop_is_whole(key: str) -> None:
    crop = CROPS[key]
    assert crop.source in SOURCES
    assert crop.mark in MARKS
    assert crop.sow_weeks[0] <= crop.sow_weeks[1]
    for table in (crop.emergence, crop.normal):
        temperatures = [degrees for degrees, _ in table]
        assert temperatures == sorted(set(temperatures))
    assert all(0 <= share <= 1 for _, share in crop.normal)


@pytest.mark.parametrize(
    ("unit", "value", "si"),
    [
        ("F", 50, 10.0), ("F", 32, 0.0), ("C", 7, 7.0), ("in", 4, 10.16), ("weeks", 3, 21),
        ("days", 5, 5), ("share", 0.1, 0.1), ("cm", 24, 24),
    ],
)  # fmt: skip
def test_units(unit: str, value: float, si: float) -> None:
    assert Fact("a.b", value, unit, "umn", "found").si == pytest.approx(si)


def test_what_is_not_there_is_an_error() -> None:
    with pytest.raises(KeyError):
        fact("plant_out.moon")
    with pytest.raises(KeyError):
        days("plant_out.moon")


@pytest.mark.parametrize(
    "low", [key for key in FACTS if key.endswith("_min") and key.removesuffix("_min") in FACTS]
)
def test_least_usual_and_most_stand_in_order(low: str) -> None:
    usual, high = low.removesuffix("_min"), low.removesuffix("_min") + "_max"
    assert fact(low).si <= fact(usual).si
    if high in FACTS:
        assert fact(usual).si <= fact(high).si


def test_every_fact_the_rules_ask_for_is_there() -> None:
    asked = set(re.findall(r"(?:fact|days)\(\"([a-z_.]+)\"\)", CODE))
    assert asked
    assert asked <= set(FACTS)


def test_every_step_is_done_by_an_entry_and_warned_of_by_words_that_exist() -> None:
    for rule in STEP_RULES.values():
        assert rule.kind in steps_done_by(rule.done_by)
        assert set(rule.cautions) <= set(CAUTIONS)
        if rule.one_tap:
            entry = RULES[rule.done_by]
            assert not entry.needs_place
            assert entry.quantity is None or not entry.quantity.required
            assert bool(entry.choices) is bool(rule.choice)
            assert not rule.choice or rule.choice in entry.choices
    assert steps_done_by(Kind.NOTE) == ()


@pytest.mark.parametrize("name", [*REAL, *INVENTED])
def test_every_source_a_season_names_is_listed(name: str) -> None:
    assert season(site(name), 2026).plant_out_source in SOURCES
