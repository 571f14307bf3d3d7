"""The facts of the trade: whole, sourced, in their units, and used."""

import re
from pathlib import Path

import pytest

from lifecycle.care.catalogue import STEP_RULES, steps_done_by
from lifecycle.care.policy import SETTINGS
from lifecycle.care.seasons import season
from lifecycle.handbook import CAUTIONS, CROPS, FACTS, SOURCES, days, fact
from lifecycle.handbook.facts import MARKS
from lifecycle.handbook.loader import FACT_FILES
from lifecycle.handbook.units import UNITS
from lifecycle.life.kinds import RULES, Kind
from tests.care.sites import INVENTED, REAL, site

ROOT = Path(__file__).resolve().parents[2] / "lifecycle"
CODE = "\n".join(path.read_text() for path in ROOT.rglob("*.py"))
_KEY = r"[\"']([a-z0-9_]+\.[a-z0-9_]+)[\"']"
ASKED = set(re.findall(rf"\b(?:fact|days)\(\s*{_KEY}", CODE)) | set(
    re.findall(rf"\b(?:fact|days)\([^)]* else {_KEY}", CODE)
)


@pytest.mark.parametrize("key", sorted(FACTS))
def test_a_fact_has_a_source_a_mark_and_a_unit(key: str) -> None:
    known = FACTS[key]
    assert known.source in SOURCES
    assert known.mark in set(MARKS) - {"own"}
    assert known.unit in UNITS
    if known.unit == "MM-DD":
        assert 1 <= known.value // 100 <= 12
        assert 1 <= known.value % 100 <= 31


def test_every_fact_is_asked_for_and_every_one_asked_for_is_there() -> None:
    assert set(FACTS) == ASKED


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


def test_every_file_of_facts_is_there() -> None:
    for name in FACT_FILES:
        assert (ROOT / "handbook" / name).is_file()
    tables = {"crops", "families", "soils", "lamps", "materials", "protections", "symptoms"}
    known = {*FACT_FILES, *(f"{name}.toml" for name in (*tables, "sources", "cautions", "chores"))}
    assert {path.name for path in (ROOT / "handbook").glob("*.toml")} == known


def test_every_source_is_used() -> None:
    text = CODE + "".join(path.read_text() for path in (ROOT / "handbook").glob("*.toml"))
    named = set(re.findall(r"\"([a-z0-9_]+)\"", text))
    assert set(SOURCES) <= named


@pytest.mark.parametrize("key", sorted(SETTINGS))
def test_every_choice_where_sources_disagree_names_a_listed_source(key: str) -> None:
    assert {choice.source for choice in SETTINGS[key].choices} <= set(SOURCES)


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


def test_the_nights_of_peppers_stand_alike_in_both_places() -> None:
    for name in ("ready_night", "allowed_night"):
        for crop in CROPS.values():
            if crop.group == "pepper":
                assert crop.fact(name).si == fact(f"plant_out.{name}").si
