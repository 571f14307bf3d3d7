"""Seed at a constant soil temperature: days to emergence, and how many seeds to sow."""

import math
from collections.abc import Sequence
from itertools import pairwise


def days_to_emergence(soil_c: float, table: Sequence[tuple[float, float | None]]) -> float | None:
    """Return days to emergence at ``soil_c``, straight lines between the table's nodes.

    ``table`` pairs soil temperature in C, rising, with days, or None where nothing comes
    up (Harrington & Minges 1954). None below, above or next to such a node.
    """
    for (low, slow), (high, fast) in pairwise(table):
        if abs(soil_c - low) < 0.01:
            return slow
        if low < soil_c < high - 0.01:
            if slow is None or fast is None:
                return None
            return slow + (fast - slow) * (soil_c - low) / (high - low)
    last_c, last_days = table[-1]
    return last_days if abs(soil_c - last_c) < 0.01 else None


def normal_share(soil_c: float, table: Sequence[tuple[float, float]]) -> float | None:
    """Return the share of seeds that make normal seedlings at ``soil_c``, or None off the table.

    ``table`` pairs soil temperature in C, rising, with a share; straight lines between.
    """
    for (low, before), (high, after) in pairwise(table):
        if low - 0.01 <= soil_c <= high + 0.01:
            share = before + (after - before) * (soil_c - low) / (high - low)
            return min(max(share, 0.0), 1.0)
    return None


def seeds_for(plants: int, share: float, viable: float = 1.0) -> int | None:
    """Return how many seeds to sow for ``plants``, or None where nothing would come up.

    ``viable`` is the share of the lot that a germination test found alive.
    """
    expected = share * viable
    if expected <= 0:
        return None
    # A product such as 0.7 * 10 is not exactly 7 in binary; the margin keeps it from adding one.
    return math.ceil(plants / expected - 1e-9)
