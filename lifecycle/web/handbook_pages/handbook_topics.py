"""The handbook by topic: which values stand together on a page, and who is named for each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lifecycle.handbook import (
    BOUNDS,
    CROPS,
    FACTS,
    LAMPS,
    MATERIALS,
    PROTECTIONS,
    SOILS,
    SOURCES,
    SYMPTOMS,
    Crop,
    Fact,
)
from lifecycle.handbook.loader import CAUTION_ROWS, TABLE_SOURCES
from lifecycle.handbook.tables import Protection
from lifecycle.models import Person
from lifecycle.web.handbook_pages.handbook_words import (
    CROP_FACTS,
    Section,
    ValueRow,
    fact_anchor,
    fact_label,
    plain_row,
    si_words,
    value_row,
)

CROP = "crop-"
"""What stands before a crop's key in the address of its topic."""

SETTINGS_TOPIC, BOOKS_TOPIC = "settings", "books"


@dataclass(frozen=True, slots=True)
class FactTopic:
    """A topic made of groups of facts: key of the group and its heading."""

    title: str
    groups: Mapping[str, str]


FACT_TOPICS: dict[str, FactTopic] = {
    "raising": FactTopic(
        "Seed, raising and planting out",
        {
            "sow": "Soil to sow in",
            "old_seed": "Old seed",
            "seed_test": "Seed tests",
            "untold": "Where no table is at hand",
            "pot_up": "Potting up",
            "topping": "Topping",
            "harden": "Hardening off",
            "plant_out": "Planting out",
            "newly_set": "Newly set plants",
            "cold_shock": "Cold shock",
        },
    ),
    "summer": FactTopic(
        "Summer: training, shade, harvest",
        {
            "early_flowers": "First flowers",
            "support": "Support",
            "single_stem": "Single stems on a string",
            "shading": "Shade",
            "heat_wave": "Heat wave",
            "hail": "Hail",
            "flood": "Flood",
            "harvest_rounds": "Harvest",
            "yields": "What beds bear",
            "bed_partner": "Crops that share the beds",
        },
    ),
    "feeding": FactTopic(
        "Water and feed",
        {"water": "Water of beds", "feed": "Feed", "leaching": "Salts in pots"},
    ),
    "winter": FactTopic(
        "Lifting, winter and waking",
        {
            "review": "Choosing what to keep",
            "backup": "Back-up before winter",
            "label_check": "Labels before winter",
            "acclimatise": "Getting used to less light",
            "pest_check": "Pests before lifting",
            "last_pick": "Last pick",
            "storage_chill": "Fruit in store",
            "lift": "Lifting",
            "at_potting": "Cutting at potting",
            "cut_back": "Cutting back",
            "leaf_drop": "Leaf drop",
            "quarters": "Winter quarters",
            "newcomers": "Newcomers",
            "winter": "Rounds in winter",
            "rest_water": "Water at rest, the other rule",
            "indoor_light": "Light indoors",
            "hand_pollination": "Pollinating by hand",
            "guarding": "Gnawing animals",
            "wake": "Waking",
            "wake_by_frost": "Waking by the last frost",
            "repotting": "Repotting",
            "new_growth": "New growth",
        },
    ),
    "frost": FactTopic(
        "Frost, freeze and warm nights",
        {
            "patrol": "Frost patrol",
            "frost_limits": "Frost on leaves",
            "frost_work": "The work of a frost night",
            "forecast_error": "How far forecasts miss",
            "rehearsal": "Rehearsal of a record",
            "typed": "Dates typed without a record",
            "typed_nights": "Nights typed without a record",
            "warm_site": "Sites without winter",
        },
    ),
    "effort": FactTopic(
        "How long work takes",
        {"set_up": "Fetching and putting back", "effort": "A plant, or a sowing"},
    ),
    "other": FactTopic("Other care", {}),
}

_KNOWN = {group for topic in FACT_TOPICS.values() for group in topic.groups}

TABLE_TOPICS = {
    "protections": "Covers and lights against frost",
    "materials": "Fertilizer materials",
    "ground": "Soils and lamps",
    "safety": "What can hurt someone",
}


def titles() -> dict[str, str]:
    """Return every topic by its key, in the order of the index."""
    return {
        SETTINGS_TOPIC: "Where sources disagree",
        **{f"{CROP}{key}": crop.label for key, crop in CROPS.items()},
        **{key: topic.title for key, topic in FACT_TOPICS.items() if facts_of(key)},
        **TABLE_TOPICS,
        BOOKS_TOPIC: "All sources",
    }


def facts_of(topic: str) -> dict[str, list[Fact]]:
    """Return the facts of a topic by group; what no topic names is other care."""
    found: dict[str, list[Fact]] = {group: [] for group in FACT_TOPICS[topic].groups}
    for fact in FACTS.values():
        group = fact.key.split(".")[0]
        if group in found or (topic == "other" and group not in _KNOWN):
            found.setdefault(group, []).append(fact)
    return {group: facts for group, facts in found.items() if facts}


def fact_sections(topic: str, person: Person) -> list[Section]:
    """Return the sections of a topic made of facts."""
    words = FACT_TOPICS[topic].groups
    return [
        Section(
            group,
            words.get(group, fact_label(group)),
            tuple(value_row(fact, fact_label(fact.key.split(".")[1]), person) for fact in facts),
        )
        for group, facts in facts_of(topic).items()
    ]


def crop_sections(
    crop: Crop, own: Iterable[tuple[str, Mapping[str, float]]], person: Person
) -> list[Section]:
    """Return a crop's values; ``own`` are the garden's varieties with their own values in SI."""
    theirs = list(own)
    rows = []
    for name, label in CROP_FACTS.items():
        fact = crop.find(name)
        set_here = tuple(
            f"{variety}: {si_words(values[name], BOUNDS[name].unit, person)}"
            for variety, values in theirs
            if name in values and name in BOUNDS
        )
        if fact is not None:
            anchor = fact_anchor(name)
            rows.append(value_row(fact, label, person, set_here, anchor))
        elif set_here:
            rows.append(ValueRow(fact_anchor(name), label, "none", "", "", "", "", "", set_here))
    sections = [Section("values", "Values", tuple(rows)), *_seedling_sections(crop, person)]
    return [section for section in sections if section.rows]


def _seedling_sections(crop: Crop, person: Person) -> list[Section]:
    source, mark = TABLE_SOURCES["emergence_f"]
    emergence = tuple(
        plain_row(
            f"fact-emergence-{round(soil)}",
            f"At {si_words(soil, 'C', person)}",
            "none comes up" if days is None else f"{days:g} days",
            source,
            mark,
        )
        for soil, days in crop.emergence
    )
    source, mark = TABLE_SOURCES["normal_f"]
    normal = tuple(
        plain_row(
            f"fact-normal-{round(soil)}",
            f"At {si_words(soil, 'C', person)}",
            f"{share:.0%}",
            source,
            mark,
        )
        for soil, share in crop.normal
    )
    return [
        Section("emergence", "Days from sowing to seedlings, by soil temperature", emergence),
        Section("normal", "Sound seed that makes a normal seedling, by soil temperature", normal),
    ]


def topics_by_source() -> dict[str, list[str]]:
    """Return, for each source, the topics that take something from it."""
    found: dict[str, list[str]] = {key: [] for key in SOURCES}

    def note(topic: str, sources: Iterable[str]) -> None:
        for source in dict.fromkeys(sources):
            found[source].append(topic)

    for key, crop in CROPS.items():
        note(f"{CROP}{key}", _crop_sources(crop))
    for key in FACT_TOPICS:
        note(key, (fact.source for facts in facts_of(key).values() for fact in facts))
    note("protections", (fact.source for fact in _gains(PROTECTIONS.values())))
    note("materials", (each.source for each in MATERIALS.values()))
    soils, lamps = SOILS.values(), LAMPS.values()
    note("ground", [*(each.source for each in soils), *(each.source for each in lamps)])
    note("safety", (each.source for each in CAUTION_ROWS.values()))
    note("symptoms", (cause.source for each in SYMPTOMS.values() for cause in each.causes))
    return found


def _crop_sources(crop: Crop) -> list[str]:
    sources = [fact.source for fact in crop.facts.values()]
    if crop.emergence:
        sources.append(TABLE_SOURCES["emergence_f"][0])
    if crop.normal:
        sources.append(TABLE_SOURCES["normal_f"][0])
    return sources


def _gains(protections: Iterable[Protection]) -> Sequence[Fact]:
    return [gain for each in protections for gain in (each.gain, *each.others) if gain is not None]
