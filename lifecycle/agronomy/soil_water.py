"""The water a bed holds, and its balance from day to day.

Equation numbers are those of FAO-56: Allen, Pereira, Raes & Smith 1998, FAO Irrigation and
Drainage Paper 56. Depths and water in mm (1 mm on a square metre is 1 litre); depletion is the
water missing below field capacity. Every formula takes one bed or arrays of beds.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import number_within, within
from lifecycle.agronomy.evapotranspiration import MOST_MM_A_DAY

Floats = NDArray[np.float64]

_DEEPEST_MM = 5000.0
_MOST_WATER_MM = 2000.0
_LEAST_AVAILABLE_MM = 0.1


@dataclass(frozen=True, slots=True)
class SoilLayer:
    """One layer: its depth in mm, and its water by volume at field capacity and wilting point."""

    depth_mm: float
    field_capacity: float
    wilting_point: float

    def __post_init__(self) -> None:
        """ValueError when the layer has no depth, or no water between the two points."""
        number_within("The depth of a soil layer", self.depth_mm, 1, _DEEPEST_MM, "mm")
        number_within("Field capacity", self.field_capacity, 0, 1, "of the volume")
        number_within("The wilting point", self.wilting_point, 0, 1, "of the volume")
        if self.wilting_point >= self.field_capacity:
            raise ValueError(
                f"The wilting point {self.wilting_point:g} is not below field capacity "
                f"{self.field_capacity:g}; check whether the two were swapped."
            )


@dataclass(frozen=True, slots=True)
class BedSoil:
    """The layers of a bed from the top down, and how deep a root barrier such as wire lies."""

    layers: tuple[SoilLayer, ...]
    barrier_mm: float | None = None

    def __post_init__(self) -> None:
        """ValueError when there is no layer, or the barrier lies at the surface."""
        if not self.layers:
            raise ValueError("A bed without soil holds no water; give it at least one layer.")
        if self.barrier_mm is not None:
            number_within("The depth of the root barrier", self.barrier_mm, 1, _DEEPEST_MM, "mm")

    def usable_depth(self, rooting_mm: float) -> float:
        """Depth that roots use: the least of soil, barrier and the crop's rooting depth."""
        rooting = number_within("The rooting depth", rooting_mm, 1, _DEEPEST_MM, "mm")
        soil = sum(layer.depth_mm for layer in self.layers)
        barrier = math.inf if self.barrier_mm is None else self.barrier_mm
        return min(soil, rooting, barrier)

    def available_water(self, rooting_mm: float) -> float:
        """Total available water TAW in the usable depth, mm (eq 82, layer by layer)."""
        left = self.usable_depth(rooting_mm)
        water = 0.0
        for layer in self.layers:
            depth = min(left, layer.depth_mm)
            water += (layer.field_capacity - layer.wilting_point) * depth
            left -= depth
        return water


def readily_available_water(available_mm: ArrayLike, p: ArrayLike) -> Floats:
    """Water a crop takes without stress, RAW = p TAW (eq 83)."""
    return _share(p) * _available(available_mm)


def stress_coefficient(depletion_mm: ArrayLike, available_mm: ArrayLike, p: ArrayLike) -> Floats:
    """Ks, from 1 while depletion is within RAW down to 0 at TAW (eq 84)."""
    depletion = within("Depletion", depletion_mm, 0, _MOST_WATER_MM, "mm")
    return _stress(depletion, _available(available_mm), _share(p))


def _stress(depletion: Floats, available: Floats, p: Floats) -> Floats:
    return np.clip((available - depletion) / ((1 - p) * available), 0.0, 1.0)


def mulched(etc_mm: ArrayLike, evaporation_share: float, mulch_cuts: float) -> Floats:
    """ETc under mulch: of its share that evaporates from the soil, mulch cuts a part; both 0 to 1.

    The share and the cut are the caller's (FAO-56 ch. 10 gives ranges by mulch and cover).
    """
    water = within("Crop evapotranspiration", etc_mm, 0, MOST_MM_A_DAY, "mm a day", gaps=True)
    share = number_within("The share that evaporates from the soil", evaporation_share, 0, 1)
    cut = number_within("The part of evaporation that mulch cuts", mulch_cuts, 0, 1)
    return water * (1 - share * cut)


def effective_rain(rain_mm: ArrayLike, et0_mm: ArrayLike) -> Floats:
    """Rain that reaches the roots: none of a day's rain below 0.2 ET0, which dries where it fell.

    FAO-56 ch. 8, from memory.
    """
    rain = within("Rain", rain_mm, 0, _MOST_WATER_MM, "mm")
    et0 = within("Reference evapotranspiration", et0_mm, 0, MOST_MM_A_DAY, "mm a day")
    return np.where(rain < 0.2 * et0, 0.0, rain)


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """Days of a balance, in mm: time runs along the first axis, beds along the others.

    `depletion` at the end of each day, `stress` Ks of the day, `used` ETc adjusted by it and
    `drained` the deep percolation. A balance closes: depletion changes by used + drained less
    rain and irrigation, save where the bed is dry and `used` stops at what it holds.
    """

    depletion: Floats
    stress: Floats
    used: Floats
    drained: Floats


def water_balance(
    start_mm: ArrayLike,
    available_mm: ArrayLike,
    p: ArrayLike,
    etc_mm: ArrayLike,
    rain_mm: ArrayLike = 0.0,
    irrigation_mm: ArrayLike = 0.0,
) -> WaterBalance:
    """Run the balance over days: Dr = Dr before - rain - irrigation + used + drained (eq 85).

    `etc_mm` has the days as its first axis, shape (days,) for one bed or (days, beds); `rain_mm`,
    `irrigation_mm` and `p` are broadcast to it, `start_mm` and `available_mm` to one day of it.
    Ks comes from the depletion at the start of the day; what a full bed cannot hold drains (eq
    88); depletion stays from 0 to TAW (eq 86). ValueError for negative water, a bed that holds
    none, a start drier than the bed can be, or missing values.
    """
    etc = within("Crop evapotranspiration", etc_mm, 0, MOST_MM_A_DAY, "mm a day")
    if etc.ndim == 0:
        raise ValueError("A water balance runs over days; give evapotranspiration day by day.")
    one_day = etc.shape[1:]
    available = np.broadcast_to(_available(available_mm), one_day)
    depletion = np.broadcast_to(_start(start_mm, available), one_day)
    shares = np.broadcast_to(_share(p), etc.shape)
    rain = within("Rain", rain_mm, 0, _MOST_WATER_MM, "mm")
    given = within("Irrigation", irrigation_mm, 0, _MOST_WATER_MM, "mm")
    supply = np.broadcast_to(rain + given, etc.shape)
    result = WaterBalance(*(np.empty_like(etc) for _ in range(4)))
    for day in range(etc.shape[0]):
        stress = _stress(depletion, available, shares[day])
        net = depletion + stress * etc[day] - supply[day]
        result.stress[day] = stress
        result.drained[day] = np.maximum(-net, 0.0)
        # Never dry beyond the wilting point: the last day uses no more than is there.
        beyond = np.maximum(net - available, 0.0)
        result.used[day] = stress * etc[day] - beyond
        depletion = np.clip(net, 0.0, available)
        result.depletion[day] = depletion
    return result


def _available(available_mm: ArrayLike) -> Floats:
    return within("Available water", available_mm, _LEAST_AVAILABLE_MM, _MOST_WATER_MM, "mm")


def _share(p: ArrayLike) -> Floats:
    return within("The share p of available water", p, 0.01, 0.99)


def _start(start_mm: ArrayLike, available: Floats) -> Floats:
    start = within("Depletion", start_mm, 0, _MOST_WATER_MM, "mm")
    if np.any(start > available):
        raise ValueError(
            "Depletion is more than the bed can hold; give at most its available water."
        )
    return start
