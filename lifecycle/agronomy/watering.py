"""When a bed next wants water, and how much: from today's depletion and the days expected."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.soil_water import readily_available_water, water_balance

_MOST_MM = 2000.0
# A sum of days falls short of the limit by no more than this.
_ROUNDING = 1e-9
_MOST_SQUARE_METRES = 1_000_000.0


@dataclass(frozen=True, slots=True)
class Watering:
    """Give `mm` by the evening of `day`, 0 being today; it brings the bed to field capacity."""

    day: int
    mm: float


def next_watering(
    depletion_mm: float,
    available_mm: float,
    p: float,
    etc_mm: ArrayLike,
    rain_mm: ArrayLike = 0.0,
) -> Watering | None:
    """Day on which depletion reaches what the crop takes without stress, and the mm missing then.

    `etc_mm` and `rain_mm` are expected day by day, today first; `depletion_mm` is that of this
    morning. A bed already that dry wants water today. None when no day within them gets so far.
    ValueError as `water_balance`.
    """
    balance = water_balance(depletion_mm, available_mm, p, etc_mm, rain_mm)
    limit = float(readily_available_water(available_mm, p))
    if depletion_mm >= limit:
        return Watering(0, float(depletion_mm))
    due = balance.depletion >= limit - _ROUNDING
    if not due.any():
        return None
    day = int(np.argmax(due))
    return Watering(day, float(balance.depletion[day]))


def litres(mm: float, square_metres: float) -> float:
    """Litres that lay `mm` of water on an area: 1 mm on 1 square metre is 1 litre."""
    depth = number_within("The depth of water", mm, 0, _MOST_MM, "mm")
    return depth * number_within("The area", square_metres, 0.01, _MOST_SQUARE_METRES, "m2")
