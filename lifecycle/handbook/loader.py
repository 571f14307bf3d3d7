"""One typed loader for the handbook's TOML files.

Values stay in the unit their source printed; ``Fact.si`` gives C, cm or days.
"""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

MARKS = frozenset({"found", "found-2nd", "memory", "derived", "common practice"})
UNITS = frozenset({"F", "C", "days", "weeks", "cm", "in", "share", "MM-DD"})


@dataclass(frozen=True, slots=True)
class Fact:
    """One value of the trade: where it comes from and how sure it is."""

    key: str
    value: float
    unit: str
    source: str
    mark: str
    note: str = ""

    @property
    def si(self) -> float:
        """The value in C, cm or days; shares as they are."""
        if self.unit == "F":
            return (self.value - 32) / 1.8
        if self.unit == "in":
            return self.value * 2.54
        if self.unit == "weeks":
            return self.value * 7
        return self.value


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop's own numbers: sowing lead, and emergence at constant soil temperature.

    ``emergence`` pairs a soil temperature in C with days, or None where nothing comes up;
    ``normal`` pairs it with the share of sound seed that makes a normal seedling.
    """

    key: str
    label: str
    latin: str
    sow_weeks: tuple[int, int]
    emergence: tuple[tuple[float, float | None], ...]
    normal: tuple[tuple[float, float], ...]
    slow_days: tuple[int, int] | None
    source: str
    mark: str


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("lifecycle.handbook").joinpath(name).read_text("utf-8"))


def _facts() -> dict[str, Fact]:
    found = {}
    for group, rows in _read("care.toml").items():
        for name, row in rows.items():
            made = Fact(key=f"{group}.{name}", **row)
            if made.mark not in MARKS or made.unit not in UNITS:
                raise ValueError(f"{made.key}: unknown mark or unit in the handbook.")
            found[made.key] = made
    return found


def _crops() -> dict[str, Crop]:
    data = _read("crops.toml")
    tables = {
        name: tuple(
            ((degrees - 32) / 1.8, None if days < 0 else float(days)) for degrees, days in rows
        )
        for name, rows in data["emergence_f"].items()
    }
    normal = {
        name: tuple(((degrees - 32) / 1.8, percent / 100) for degrees, percent in rows)
        for name, rows in data["normal_f"].items()
    }
    return {
        key: Crop(
            key=key,
            label=row["label"],
            latin=row["latin"],
            sow_weeks=(row["sow_weeks"][0], row["sow_weeks"][1]),
            emergence=tables[row["emergence"]],
            normal=normal[row["emergence"]],
            slow_days=tuple(row["slow_days"]) if "slow_days" in row else None,
            source=row["source"],
            mark=row["mark"],
        )
        for key, row in data["crop"].items()
    }


SOURCES: dict[str, str] = _read("sources.toml")["source"]
FACTS: dict[str, Fact] = _facts()
CROPS: dict[str, Crop] = _crops()
CAUTIONS: dict[str, str] = _read("cautions.toml")["caution"]


def fact(key: str) -> Fact:
    """Return one fact. Raises KeyError for a key the handbook does not have."""
    return FACTS[key]


def days(key: str) -> int:
    """Return a fact in whole days."""
    return round(FACTS[key].si)
