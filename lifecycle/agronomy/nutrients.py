"""Fertilizer arithmetic: from the three numbers of a label to a dose, and back to what it supplies.

A label gives percent by mass of nitrogen, available phosphate as P2O5 and soluble potash as K2O,
in that order (AAPFCO, Statements of Uniform Interpretation). Amounts are in g, areas in m2, rates
in g of nutrient per m2, water in litres. The bag's own guarantee goes before any table.
"""

from dataclasses import dataclass
from enum import StrEnum

from lifecycle.agronomy.bounds import number_within

# Standard atomic weights, IUPAC.
_P, _K, _O = 30.974, 39.098, 15.999
#: Phosphorus in phosphate and potassium in potash, by mass: 0.4364 and 0.8301.
P_IN_P2O5 = 2 * _P / (2 * _P + 5 * _O)
K_IN_K2O = 2 * _K / (2 * _K + _O)

_POUND_G = 453.59237
_SQUARE_FOOT_M2 = 0.09290304
_SQUARE_FEET_IN_ACRE = 43_560
#: A gallon of the United States in litres.
GALLON_LITRES = 3.785411784

_MOST_G = 1e6
_MOST_M2 = 1e6
_MOST_RATE = 500.0
_MOST_PPM = 100_000.0
_MOST_LITRES = 1e6
# Three decimal numbers that add to 100 on paper may add to a hair more in binary.
_ROUNDING = 1e-9


class Nutrient(StrEnum):
    """What a label guarantees, as the label counts it."""

    N = "N"
    P2O5 = "P2O5"
    K2O = "K2O"


@dataclass(frozen=True, slots=True)
class Amounts:
    """Grams of each nutrient, or grams per square metre of it."""

    n: float
    p2o5: float
    k2o: float

    def of(self, nutrient: Nutrient) -> float:
        """The amount of one nutrient."""
        return {Nutrient.N: self.n, Nutrient.P2O5: self.p2o5, Nutrient.K2O: self.k2o}[nutrient]

    def per_m2(self, area_m2: float) -> "Amounts":
        """These grams spread over an area: g per m2. ValueError for an area of nothing."""
        area = _area(area_m2)
        return Amounts(self.n / area, self.p2o5 / area, self.k2o / area)


@dataclass(frozen=True, slots=True)
class Analysis:
    """The three numbers of a label: percent N, P2O5 and K2O by mass."""

    n: float
    p2o5: float
    k2o: float

    def __post_init__(self) -> None:
        """ValueError when a number is not a percentage, or the three add to over 100."""
        number_within("Nitrogen N", self.n, 0, 100, "percent")
        number_within("Phosphate P2O5", self.p2o5, 0, 100, "percent")
        number_within("Potash K2O", self.k2o, 0, 100, "percent")
        total = self.n + self.p2o5 + self.k2o
        if total > 100 + _ROUNDING:
            raise ValueError(
                f"The analysis {self} adds to over 100 percent ({total:g}); give the three numbers "
                "of the label: N, P2O5 and K2O."
            )

    def __str__(self) -> str:
        """As a label prints it: 5-10-10."""
        return f"{self.n:g}-{self.p2o5:g}-{self.k2o:g}"

    def share(self, nutrient: Nutrient) -> float:
        """Share of the material's mass that is this nutrient, 0 to 1."""
        return supplied(self, 1.0).of(nutrient)


def phosphorus(p2o5: float) -> float:
    """Elemental P in an amount of P2O5, in the same unit."""
    return p2o5 * P_IN_P2O5


def phosphate(p: float) -> float:
    """P2O5 that holds an amount of elemental P, in the same unit."""
    return p / P_IN_P2O5


def potassium(k2o: float) -> float:
    """Elemental K in an amount of K2O, in the same unit."""
    return k2o * K_IN_K2O


def potash(k: float) -> float:
    """K2O that holds an amount of elemental K, in the same unit."""
    return k / K_IN_K2O


class RateUnit(StrEnum):
    """Units in which rates are published."""

    LB_PER_1000_SQ_FT = "lb per 1,000 sq ft"
    LB_PER_100_SQ_FT = "lb per 100 sq ft"
    LB_PER_ACRE = "lb per acre"


_SQUARE_FEET = {
    RateUnit.LB_PER_1000_SQ_FT: 1000,
    RateUnit.LB_PER_100_SQ_FT: 100,
    RateUnit.LB_PER_ACRE: _SQUARE_FEET_IN_ACRE,
}


def rate_g_m2(rate: float, unit: RateUnit) -> float:
    """A published rate in g per m2; by the definitions of pound, foot and acre."""
    return rate * _POUND_G / (_SQUARE_FEET[unit] * _SQUARE_FOOT_M2)


def material_for(analysis: Analysis, nutrient: Nutrient, grams: float) -> float:
    """Grams of material that hold `grams` of a nutrient.

    ValueError when the material holds none of it, or for an amount below 0 or over a tonne.
    """
    wanted = number_within(f"The amount of {nutrient}", grams, 0, _MOST_G, "g")
    share = analysis.share(nutrient)
    if share == 0:
        raise ValueError(
            f"The material {analysis} holds no {nutrient}; choose one that does, or reckon by a "
            "nutrient that it holds."
        )
    return wanted / share


def dose_for_bed(analysis: Analysis, nutrient: Nutrient, rate: float, area_m2: float) -> float:
    """Grams of material for a bed at a rate in g of nutrient per m2.

    ValueError for a bed of no area, a rate below 0 or over 500 g per m2, or a material without
    the nutrient.
    """
    target = number_within("The rate", rate, 0, _MOST_RATE, "g per m2")
    return material_for(analysis, nutrient, target * _area(area_m2))


def dose_for_hole(
    analysis: Analysis, nutrient: Nutrient, rate: float, in_row_m: float, between_rows_m: float
) -> float:
    """Grams of material for one planting hole: the share of a bed's dose that falls to one plant.

    A plant's share of the bed is the distance in the row times the distance between rows.
    ValueError as `dose_for_bed`.
    """
    in_row = number_within("The distance in the row", in_row_m, 0.01, 20, "m")
    between = number_within("The distance between rows", between_rows_m, 0.01, 20, "m")
    return dose_for_bed(analysis, nutrient, rate, in_row * between)


def dose_for_water(
    analysis: Analysis, nutrient: Nutrient, ppm: float, litres: float = 1.0
) -> float:
    """Grams of material in so many litres of water for `ppm` of a nutrient (mg per litre).

    ValueError for a strength below 0 or over 100,000 ppm, no water, or a material without it.
    """
    strength = number_within("The strength", ppm, 0, _MOST_PPM, "ppm")
    return material_for(analysis, nutrient, strength / 1000 * _water(litres))


def strength_ppm(
    analysis: Analysis, nutrient: Nutrient, grams: float, litres: float = 1.0
) -> float:
    """Parts per million (mg per litre) of a nutrient in water fed by the label's rate.

    ValueError for material below 0 g or over a tonne, or no water.
    """
    return supplied(analysis, grams).of(nutrient) * 1000 / _water(litres)


def supplied(analysis: Analysis, grams: float) -> Amounts:
    """What so many grams of material hold. ValueError below 0 g or over a tonne."""
    mass = number_within("The material", grams, 0, _MOST_G, "g")
    return Amounts(mass * analysis.n / 100, mass * analysis.p2o5 / 100, mass * analysis.k2o / 100)


class Measure(StrEnum):
    """Kitchen measures of the United States."""

    TEASPOON = "teaspoon"
    TABLESPOON = "tablespoon"
    CUP = "cup"


_MILLILITRES = {Measure.TEASPOON: 4.929, Measure.TABLESPOON: 14.787, Measure.CUP: 236.588}
#: Two cups of dry fertilizer weigh about a pound (CSU GardenNotes 233): 0.96 g per ml.
DRY_FERTILIZER = _POUND_G / (2 * _MILLILITRES[Measure.CUP])


def in_measures(grams: float, measure: Measure, density: float = DRY_FERTILIZER) -> float:
    """How many spoons or cups hold so many grams of a material of bulk density g per ml.

    ValueError below 0 g or over a tonne, or for a density that no fertilizer has.
    """
    mass = number_within("The material", grams, 0, _MOST_G, "g")
    return mass / (_MILLILITRES[measure] * _density(density))


def grams_in(count: float, measure: Measure, density: float = DRY_FERTILIZER) -> float:
    """Grams in so many spoons or cups of a material of bulk density g per ml; level measures."""
    number = number_within(f"The number of {measure}s", count, 0, _MOST_G)
    return number * _MILLILITRES[measure] * _density(density)


def handy_measure(grams: float, density: float = DRY_FERTILIZER) -> tuple[float, Measure]:
    """A dose as one would measure it: to a quarter of the largest measure that it fills.

    Less than a teaspoon is given in quarters of it, one at least, unless the dose is nothing.
    ValueError as `in_measures`.
    """
    for measure in (Measure.CUP, Measure.TABLESPOON):
        count = in_measures(grams, measure, density)
        if count >= 1:
            return _quarters(count), measure
    teaspoons = in_measures(grams, Measure.TEASPOON, density)
    least = 0.25 if teaspoons > 0 else 0.0
    return max(_quarters(teaspoons), least), Measure.TEASPOON


def _quarters(count: float) -> float:
    return round(count * 4) / 4


def _area(area_m2: float) -> float:
    return number_within("The area of the bed", area_m2, 0.0001, _MOST_M2, "m2")


def _water(litres: float) -> float:
    return number_within("The water", litres, 0.01, _MOST_LITRES, "litres")


def _density(density: float) -> float:
    return number_within("The bulk density", density, 0.05, 3, "g per ml")
