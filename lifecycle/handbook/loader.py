"""Reads the handbook's TOML files once, and checks every row of them."""

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from lifecycle.handbook.chores import Starter, made_starters
from lifecycle.handbook.crops import Crop, made_crops
from lifecycle.handbook.facts import MARKS, Fact, made_fact
from lifecycle.handbook.symptoms import Symptom, made_symptoms
from lifecycle.handbook.tables import (
    Caution,
    Lamp,
    Material,
    Protection,
    Soil,
    made_protections,
    made_rows,
)
from lifecycle.handbook.units import UNITS

__all__ = ["MARKS", "UNITS"]

FACT_FILES = (
    "care.toml",
    "growing.toml",
    "winter.toml",
    "frost.toml",
    "plan.toml",
    "water.toml",
    "feed.toml",
    "seed.toml",
    "yields.toml",
    "effort.toml",
)


def _read(name: str) -> dict[str, Any]:
    path = files("lifecycle.handbook").joinpath(name)
    return tomllib.loads(path.read_text("utf-8")) if path.is_file() else {}


def made_facts(
    tables: Iterable[Mapping[str, Mapping[str, Any]]], sources: Mapping[str, str]
) -> dict[str, Fact]:
    """Return the facts of several files by "group.name". ValueError for a group in two files."""
    found: dict[str, Fact] = {}
    groups: set[str] = set()
    for table in tables:
        for group, rows in table.items():
            if group in groups:
                raise ValueError(f"Handbook: the group “{group}” stands in two files.")
            groups.add(group)
            for name, row in rows.items():
                key = f"{group}.{name}"
                found[key] = made_fact(key, row, sources)
    return found


SOURCES: dict[str, str] = _read("sources.toml")["source"]
FACTS: dict[str, Fact] = made_facts((_read(name) for name in FACT_FILES), SOURCES)
FAMILIES: dict[str, str] = _read("families.toml")["family"]
CROPS: dict[str, Crop] = made_crops(_read("crops.toml"), FAMILIES, SOURCES)
TABLE_SOURCES: dict[str, tuple[str, str]] = {
    name: (table["source"], table["mark"])
    for name, table in _read("crops.toml").items()
    if name != "crop"
}
"""Source and mark of the tables of seedlings by soil temperature."""
MATERIALS: dict[str, Material] = made_rows(Material, _read("materials.toml"), SOURCES)
SOILS: dict[str, Soil] = made_rows(Soil, _read("soils.toml"), SOURCES)
LAMPS: dict[str, Lamp] = made_rows(Lamp, _read("lamps.toml"), SOURCES)
CAUTION_ROWS: dict[str, Caution] = made_rows(Caution, _read("cautions.toml"), SOURCES)
CAUTIONS: dict[str, str] = {key: row.text for key, row in CAUTION_ROWS.items()}
PROTECTIONS: dict[str, Protection] = made_protections(_read("protections.toml"), SOURCES)
SYMPTOMS: dict[str, Symptom] = made_symptoms(_read("symptoms.toml"), SOURCES)
STARTERS: dict[str, Starter] = made_starters(_read("chores.toml"), CAUTIONS, SOURCES)


def fact(key: str) -> Fact:
    """Return one fact. Raises KeyError for a key the handbook does not have."""
    return FACTS[key]


@cache
def days(key: str) -> int:
    """Return a fact in whole days."""
    return round(FACTS[key].si)
