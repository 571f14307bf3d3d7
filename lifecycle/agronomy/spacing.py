"""How many plants a bed holds, what room is left in it, and how much fruit an area bears."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from lifecycle.agronomy.bounds import number_within

_LEAST_M, _MOST_M = 0.01, 1000.0
_MOST_M2 = 1e6
# 1.2 m by 0.3 m is 4 plants on paper and a hair less in binary.
_ROUNDING = 1e-9


class Layout(StrEnum):
    """How rows stand to each other."""

    RECTANGULAR = "rectangular"
    OFFSET = "offset"


@dataclass(frozen=True, slots=True)
class Spacing:
    """Distance between plants in a row and between rows, in m."""

    in_row_m: float
    between_rows_m: float

    def __post_init__(self) -> None:
        """ValueError for a distance under 1 cm or over 20 m."""
        number_within("The distance in the row", self.in_row_m, _LEAST_M, 20, "m")
        number_within("The distance between rows", self.between_rows_m, _LEAST_M, 20, "m")

    @property
    def plant_m2(self) -> float:
        """Ground that one plant takes."""
        return self.in_row_m * self.between_rows_m


def bed_capacity(
    length_m: float, width_m: float, spacing: Spacing, layout: Layout = Layout.RECTANGULAR
) -> int:
    """Plants that a bed holds in rows along its length, half a distance in from every edge.

    Offset rows are shifted by half the distance in the row and moved together until each plant is
    as far from its nearest in the next row as rows were before: equal distances give equilateral
    triangles. ValueError for a bed under 1 cm or over 1 km.
    """
    length = number_within("The length of the bed", length_m, _LEAST_M, _MOST_M, "m")
    width = number_within("The width of the bed", width_m, _LEAST_M, _MOST_M, "m")
    in_row, between = spacing.in_row_m, spacing.between_rows_m
    full_row = _whole(length / in_row)
    if layout is Layout.RECTANGULAR:
        return full_row * _whole(width / between)
    rows = max(1 + _whole((width - between) / offset_row_distance(spacing)), 0)
    shifted_row = max(_whole(length / in_row - 0.5), 0)
    return (rows + 1) // 2 * full_row + rows // 2 * shifted_row


def offset_row_distance(spacing: Spacing) -> float:
    """Distance in m between offset rows that keeps plants as far apart as square rows would.

    Rows never stand closer than half the distance, or each would crowd the next but one.
    """
    in_row, between = spacing.in_row_m, spacing.between_rows_m
    return math.sqrt(max(between * between - in_row * in_row / 4, between * between / 4))


def free_room(bed_m2: float, standing: Iterable[tuple[Spacing, int]]) -> float:
    """Free m2 in a bed beside plants that stand in it, each kind with its spacing and count.

    Negative where the bed holds more than it has room for. ValueError for a bed of no area or a
    negative count.
    """
    area = number_within("The area of the bed", bed_m2, _LEAST_M * _LEAST_M, _MOST_M2, "m2")
    for spacing, count in standing:
        area -= spacing.plant_m2 * number_within("The number of plants", count, 0, 1e6)
    return area


def plants_in(free_m2: float, spacing: Spacing) -> int:
    """Plants that a free area takes by ground alone; none where there is no room."""
    return max(_whole(free_m2 / spacing.plant_m2), 0)


@dataclass(frozen=True, slots=True)
class FruitYield:
    """Fruit of a season by square metre and by plant."""

    per_m2: float
    per_plant: float


def fruit_yield(fruit: float, area_m2: float, plants: int) -> FruitYield:
    """Fruit (a count, or kg) by area and by plant. ValueError for no area or no plants."""
    count = number_within("The fruit", fruit, 0, 1e9)
    area = number_within("The area of the bed", area_m2, _LEAST_M * _LEAST_M, _MOST_M2, "m2")
    return FruitYield(count / area, count / number_within("The number of plants", plants, 1, 1e6))


def _whole(count: float) -> int:
    return math.floor(count + _ROUNDING)
