"""Days from sowing to emergence at a constant soil temperature."""

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
