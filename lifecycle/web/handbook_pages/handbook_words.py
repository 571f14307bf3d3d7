"""The handbook's values in words: what they are, as printed, in the reader's units, how sure."""

from collections.abc import Iterable
from dataclasses import dataclass

from lifecycle.care.wording import degrees, measure
from lifecycle.handbook import SOURCES, Fact
from lifecycle.handbook.facts import MARKS, NO_SOURCE
from lifecycle.handbook.units import UNITS
from lifecycle.models import Person
from lifecycle.web.words import month_day_words

CROP_FACTS = {
    "sow_weeks": "Sowing before planting out",
    "direct_before_freeze": "Sowing in place, before the last freeze (below 0: after it)",
    "sow_depth": "Sowing depth",
    "soil_min": "Soil to sow in, at the least",
    "soil_best": "Soil to sow in, at its best",
    "slow_days": "Days to come up, commonly",
    "ready_night": "Nights at which it may go out",
    "allowed_night": "Nights at which it may go out with a warning",
    "chill_night": "Chilled at",
    "kill": "Killed at",
    "spacing": "Distance between plants",
    "row_spacing": "Distance between rows",
    "height": "Height",
    "maturity": "Days to the first crop",
    "ripe_after": "From full size to ripe",
    "fruit_per_plant": "Fruit a plant",
    "yield_per_plant": "Crop of a plant",
    "base_temp": "Base temperature of growth",
    "ceiling_temp": "Ceiling temperature of growth",
    "seed_life": "Life of seed, stored well",
    "germination_standard": "Germination standard of seed on sale (US)",
    "nitrogen_left": "Nitrogen left for the next crop",
    "root_depth": "Root depth",
    "depletion": "Share of the soil's water it takes without stress",
    "kc_ini": "Crop coefficient, young",
    "kc_mid": "Crop coefficient, full-grown",
    "kc_end": "Crop coefficient, at the end",
    "stage_ini": "Days young",
    "stage_dev": "Days growing to full size",
    "stage_mid": "Days full-grown",
    "stage_late": "Days to the end",
}
"""What a crop's facts are called, in the order in which a page shows them."""

_ENDS = (("_min", "at the least"), ("_max", "at the most"))
_METRIC = frozenset({"C", "dC", "cm", "mm", "m", "m2", "g", "g/m2", "litre"})


@dataclass(frozen=True, slots=True)
class ValueRow:
    """A value on a page: ``yours`` is "" where the printed unit is the reader's own."""

    anchor: str
    label: str
    printed: str
    yours: str
    mark: str
    source: str
    source_key: str
    note: str
    own: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """Values under one heading, with what is to be said of them all and their cautions."""

    key: str
    title: str
    rows: tuple[ValueRow, ...]
    note: str = ""
    cautions: tuple[str, ...] = ()


def value_row(
    fact: Fact, label: str, person: Person, own: Iterable[str] = (), anchor: str = ""
) -> ValueRow:
    """Return the row of a fact; ``own`` are the garden's values in place of it."""
    return ValueRow(
        anchor or fact_anchor(fact.key),
        label,
        printed(fact),
        in_reader_units(fact, person),
        mark_words(fact.mark, fact.source),
        SOURCES[fact.source],
        fact.source,
        fact.note,
        tuple(own),
    )


def plain_row(
    anchor: str, label: str, value: str, source: str, mark: str, note: str = ""
) -> ValueRow:
    """Return the row of a value that is already in words."""
    return ValueRow(
        anchor, label, value, "", mark_words(mark, source), SOURCES[source], source, note
    )


def mark_words(mark: str, source: str) -> str:
    """Return how sure a value is, in words that its source can follow where it has one."""
    words = MARKS[mark]
    return words.removesuffix(" from") if mark == "derived" and source == NO_SOURCE else words


def fact_anchor(key: str) -> str:
    """Return the anchor of a value: where on its page a link finds it."""
    return f"fact-{key}"


def fact_label(name: str) -> str:
    """Return a fact's name in words: "ready_night_min" is "Ready night, at the least"."""
    end = ""
    for suffix, words in _ENDS:
        if name.endswith(suffix):
            name, end = name.removesuffix(suffix), f", {words}"
    text = name.replace("_", " ").replace("plant out", "planting out")
    return f"{text[:1].upper()}{text[1:]}{end}"


def printed(fact: Fact) -> str:
    """Return a value as its source prints it, with its unit."""
    if fact.unit == "MM-DD":
        return month_day_words(f"{round(fact.value) // 100:02d}-{round(fact.value) % 100:02d}")
    unit = UNITS[fact.unit].printed
    values = f"{fact.value:g}" if fact.to is None else f"{fact.value:g} to {fact.to:g}"
    return (f"{values} {unit}" if unit else values).replace("-", "−")


def in_reader_units(fact: Fact, person: Person) -> str:
    """Return a value in the reader's units, or "" where it is printed in them."""
    unit = UNITS[fact.unit].si
    if unit not in _METRIC or (fact.unit in _METRIC) is _reads_metric(unit, person):
        return ""
    low, high = _written(fact.si, unit, person), _written(fact.si_high, unit, person)
    return low if fact.si_to is None else f"{low.split()[0]} to {high}"


def si_words(value: float, unit: str, person: Person) -> str:
    """Return a value kept in SI as the reader reads it."""
    if unit in _METRIC:
        return _written(value, unit, person)
    return f"{value:g} {UNITS[unit].printed}".strip()


def _reads_metric(unit: str, person: Person) -> bool:
    if unit in ("C", "dC"):
        return person.temperature == Person.Temperature.CELSIUS
    return person.length == Person.Length.METRIC


def _written(value: float, unit: str, person: Person) -> str:
    if unit == "C":
        return degrees(value, person.temperature)
    if unit == "dC":
        fahrenheit = person.temperature == Person.Temperature.FAHRENHEIT
        return f"{value * 1.8 if fahrenheit else value:.1f} degrees {person.temperature}"
    if unit == "m":
        return (
            f"{value / 0.3048:.0f} ft" if person.length == Person.Length.INCHES else f"{value:g} m"
        )
    if unit == "cm" and value < 5:
        inches = person.length == Person.Length.INCHES
        return f"{value / 2.54:.2g} in" if inches else f"{value:.2g} cm"
    return measure(value, unit, person.length)
