"""The crops: how they are raised, what they bear, and the temperatures they stand."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from lifecycle.handbook.facts import OWN_SOURCE, Fact, made_fact
from lifecycle.handbook.units import UNITS

Emergence = tuple[tuple[float, float | None], ...]
Normal = tuple[tuple[float, float], ...]

GROUPS = ("pepper", "tomato", "eggplant", "partner")
HABITS = ("", "determinate", "semi", "indeterminate", "cherry")


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a garden may set for a variety in place of a published value: least and most, in SI."""

    label: str
    unit: str
    low: float
    high: float

    def check(self, value: float) -> None:
        """ValueError for a value that no crop has."""
        if not self.low <= value <= self.high:
            unit = {"C": " °C", "count": ""}.get(self.unit, f" {self.unit}")
            raise ValueError(
                f"{self.label}: {value:g}{unit} cannot be. "
                f"Give {self.low:g} to {self.high:g}{unit}."
            )


BOUNDS: dict[str, Bounds] = {
    "sow_weeks": Bounds("Sowing before planting out", "days", 7, 210),
    "spacing": Bounds("Distance between plants", "cm", 2, 400),
    "height": Bounds("Height", "cm", 5, 600),
    "maturity": Bounds("Planting out to the first crop", "days", 15, 365),
    # Between the nights of 50 and 60 F, whose days of the year a site knows.
    "ready_night": Bounds("Nights to plant out at", "C", 10, 15.6),
    "base_temp": Bounds("Base temperature", "C", -2, 25),
    "fruit_per_plant": Bounds("Fruit a plant", "count", 1, 2000),
}


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop's own numbers; what is not published for it is not there.

    ``emergence`` pairs a soil temperature in C with days, or None where nothing comes up;
    ``normal`` pairs it with the share of sound seed that makes a normal seedling. Both are
    empty where no table is at hand. ``one_harvest``: taken up whole, which is common practice.
    """

    key: str
    label: str
    latin: str
    family: str
    group: str
    habit: str
    perennial: bool
    direct_sown: bool
    one_harvest: bool
    emergence: Emergence
    normal: Normal
    facts: Mapping[str, Fact]

    def fact(self, name: str) -> Fact:
        """Return a value of this crop. Raises KeyError where none is published."""
        return self.facts[name]

    def find(self, name: str) -> Fact | None:
        """Return a value of this crop, or None where none is published."""
        return self.facts.get(name)

    @property
    def tall(self) -> bool:
        """Whether it is a tomato that goes on growing, for one stem on a string."""
        return self.habit in ("indeterminate", "cherry")

    @property
    def sow_weeks(self) -> tuple[int, int]:
        """Weeks from sowing to planting out, least and most; none for a crop sown in place."""
        lead = self.find("sow_weeks")
        return (0, 0) if lead is None else (round(lead.si / 7), round(lead.si_high / 7))

    @property
    def slow_days(self) -> tuple[int, int] | None:
        """Days that a slow species commonly takes to come up in warmth, or None."""
        slow = self.find("slow_days")
        return None if slow is None else (round(slow.si), round(slow.si_high))

    @property
    def _timing(self) -> Fact:
        return self.facts["direct_before_freeze" if self.direct_sown else "sow_weeks"]

    @property
    def source(self) -> str:
        """Whose word the time of sowing is: a key of ``SOURCES``."""
        return self._timing.source

    @property
    def mark(self) -> str:
        """How sure the time of sowing is."""
        return self._timing.mark

    def adapted(self, overrides: Mapping[str, float]) -> "Crop":
        """Return the crop with a garden's own values, in SI, in place of the published ones.

        A range gives way to the one value. Raises ValueError for a value that no crop has, or
        for a name that cannot be set.
        """
        facts = dict(self.facts)
        for name, value in overrides.items():
            if name not in BOUNDS:
                raise ValueError(
                    f"“{name}” cannot be set for a variety. Choose a value from the list."
                )
            BOUNDS[name].check(value)
            key = f"{self.key}.{name}"
            facts[name] = Fact(key, value, BOUNDS[name].unit, OWN_SOURCE, "own")
        return replace(self, facts=facts)


def made_crops(
    data: Mapping[str, Any], families: Mapping[str, str], sources: Mapping[str, str]
) -> dict[str, Crop]:
    """Return the crops of the TOML: ``like`` takes over what an earlier crop has.

    ``without`` names facts that are not taken over.

    ValueError for a family, group, habit, fact or other crop that is not known.
    """
    made: dict[str, Crop] = {}
    for key, row in data["crop"].items():
        like = row.get("like")
        if like is not None and like not in made:
            raise ValueError(f"Handbook, {key}: there is no crop “{like}” before it.")
        made[key] = _made(key, row, made.get(like), data, sources)
        _check_words(made[key], families)
    return made


def _made(
    key: str,
    row: Mapping[str, Any],
    like: Crop | None,
    data: Mapping[str, Any],
    sources: Mapping[str, str],
) -> Crop:
    without = set(row.get("without", ()))
    facts = {} if like is None else {n: f for n, f in like.facts.items() if n not in without}
    for name, values in row.get("facts", {}).items():
        facts[name] = made_fact(f"{key}.{name}", values, sources)
    table = row.get("seedlings", "")
    return Crop(
        key=key,
        label=row["label"],
        latin=row["latin"],
        family=row.get("family", "" if like is None else like.family),
        group=row.get("group", "" if like is None else like.group),
        habit=row.get("habit", "" if like is None else like.habit),
        perennial=row.get("perennial", like is not None and like.perennial),
        direct_sown=row.get("direct_sown", like is not None and like.direct_sown),
        one_harvest=row.get("one_harvest", like is not None and like.one_harvest),
        emergence=_emergence(data, table) if table or like is None else like.emergence,
        normal=_normal(data, table) if table or like is None else like.normal,
        facts=facts,
    )


def _emergence(data: Mapping[str, Any], name: str) -> Emergence:
    # In the file a number of days below 0 stands for: nothing comes up.
    return tuple(
        (UNITS["F"].in_si(degrees), None if days < 0 else float(days))
        for degrees, days in data["emergence_f"].get(name, ())
    )


def _normal(data: Mapping[str, Any], name: str) -> Normal:
    return tuple(
        (UNITS["F"].in_si(degrees), percent / 100)
        for degrees, percent in data["normal_f"].get(name, ())
    )


def _check_words(crop: Crop, families: Mapping[str, str]) -> None:
    for what, word, known in (
        ("family", crop.family, tuple(families)),
        ("group", crop.group, GROUPS),
        ("habit", crop.habit, HABITS),
    ):
        if word not in known:
            raise ValueError(f"Handbook, {crop.key}: there is no {what} “{word}”.")
    if ("direct_before_freeze" if crop.direct_sown else "sow_weeks") not in crop.facts:
        raise ValueError(f"Handbook, {crop.key}: it does not say when to sow.")
