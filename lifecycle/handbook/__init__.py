"""The facts of the trade as data: value, unit, source and mark of each."""

from lifecycle.handbook.chores import Starter
from lifecycle.handbook.crops import BOUNDS, Crop
from lifecycle.handbook.facts import Fact
from lifecycle.handbook.loader import (
    CAUTIONS,
    CROPS,
    FACTS,
    FAMILIES,
    LAMPS,
    MATERIALS,
    PROTECTIONS,
    SOILS,
    SOURCES,
    STARTERS,
    SYMPTOMS,
    days,
    fact,
)
from lifecycle.handbook.symptoms import Cause, Symptom
from lifecycle.handbook.tables import Material, Protection

__all__ = [
    "BOUNDS",
    "CAUTIONS",
    "CROPS",
    "FACTS",
    "FAMILIES",
    "LAMPS",
    "MATERIALS",
    "PROTECTIONS",
    "SOILS",
    "SOURCES",
    "STARTERS",
    "SYMPTOMS",
    "Cause",
    "Crop",
    "Fact",
    "Material",
    "Protection",
    "Starter",
    "Symptom",
    "days",
    "fact",
]
