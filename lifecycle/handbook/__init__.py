"""The facts of the trade as data: value, unit, source and mark of each."""

from lifecycle.handbook.loader import CAUTIONS, CROPS, FACTS, SOURCES, Crop, Fact, days, fact

__all__ = ["CAUTIONS", "CROPS", "FACTS", "SOURCES", "Crop", "Fact", "days", "fact"]
