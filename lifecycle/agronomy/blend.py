"""Mixing materials toward an amount of N, P2O5 and K2O, with what comes on top shown."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog, nnls

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.nutrients import Amounts, Analysis, Nutrient

_MOST_G = 1e6
# A mass or an excess below this share of the target is what the solver leaves of nothing.
_NOTHING = 1e-7
# Less of a nutrient than a hundredth of a percent of a material, or a millionth of the target, is
# below what labels and scales tell, and would only upset the solver.
_TRACE, _TRACE_OF_TARGET = 1e-4, 1e-6


@dataclass(frozen=True, slots=True)
class Blend:
    """Grams of each material in the order given, what they supply, and what is over the target."""

    grams: tuple[float, ...]
    supplied: Amounts
    excess: Amounts


@dataclass(frozen=True, slots=True)
class Mixture:
    """Shares of each material by mass, which add to 1, and the analysis of the mixture."""

    shares: tuple[float, ...]
    analysis: Analysis


def blend(materials: Sequence[Analysis], target: Amounts) -> Blend:
    """Grams of each material that meet the target with the least nutrient on top.

    A linear programme: supply of each nutrient at least its target, masses at least 0, and the
    sum of what is over least; among equals, the least mass of material. A nutrient whose target is
    0 is not wanted, and all of it counts as excess. ValueError when the target is nothing, below
    0 or over a tonne, there is no material, or no material holds a nutrient that is wanted.
    """
    wanted = _wanted(target)
    shares = _shares(materials)
    _check_reach(shares, wanted)
    # Masses are solved for a target of 1 g in all, so that the solver's tolerances fit any size.
    scale = float(wanted.sum())
    all_nutrients = shares.sum(axis=0)
    met = {"A_ub": -shares, "b_ub": -wanted / scale}
    # Supply less target is least where supply is.
    least = linprog(all_nutrients, **met).fun
    lightest = linprog(
        np.ones(len(materials)),
        A_ub=np.vstack((-shares, all_nutrients)),
        b_ub=np.append(-wanted / scale, least * (1 + 1e-9)),
    )
    masses = np.where(lightest.x > _NOTHING, lightest.x, 0.0) * scale
    supply = shares @ masses
    over = supply - wanted
    return Blend(
        tuple(float(mass) for mass in masses),
        _amounts(supply),
        _amounts(np.where(over > _NOTHING * scale, over, 0.0)),
    )


def match_ratio(materials: Sequence[Analysis], ratio: Analysis) -> Mixture:
    """The mixture whose N : P2O5 : K2O comes nearest to a ratio such as 2-4-2.

    Nearest by the angle between the two, so that strength plays no part: non-negative least
    squares. ValueError when the ratio is nothing or no material holds any of it.
    """
    shares = _shares(materials)
    wanted = np.array([ratio.n, ratio.p2o5, ratio.k2o])
    if not wanted.any():
        raise ValueError("The ratio 0-0-0 asks for no nutrient; give at least one above 0.")
    masses, _ = nnls(shares, wanted)
    total = float(masses.sum())
    if total == 0:
        raise ValueError(
            f"None of these materials holds what {ratio} asks for; choose others, or another ratio."
        )
    mixed = shares @ masses / total * 100
    return Mixture(
        tuple(float(mass / total) for mass in masses),
        Analysis(*(float(percent) for percent in mixed)),
    )


def _shares(materials: Sequence[Analysis]) -> NDArray[np.float64]:
    """Nutrients down, materials across."""
    if not materials:
        raise ValueError("There is no material to mix; give at least one.")
    shares = np.array([[one.share(nutrient) for one in materials] for nutrient in Nutrient])
    return np.where(shares < _TRACE, 0.0, shares)


def _wanted(target: Amounts) -> NDArray[np.float64]:
    wanted = [
        number_within(f"The target for {nutrient}", target.of(nutrient), 0, _MOST_G, "g")
        for nutrient in Nutrient
    ]
    if not any(wanted):
        raise ValueError("The target asks for no nutrient; give at least one amount above 0 g.")
    grams = np.array(wanted)
    return np.where(grams < _TRACE_OF_TARGET * grams.sum(), 0.0, grams)


def _check_reach(shares: NDArray[np.float64], wanted: NDArray[np.float64]) -> None:
    out_of_reach = (wanted > 0) & ~shares.any(axis=1)
    names = [nutrient for nutrient, out in zip(Nutrient, out_of_reach, strict=True) if out]
    if names:
        raise ValueError(
            f"None of these materials supplies {' or '.join(names)}; add one that does, or ask "
            "for none of it."
        )


def _amounts(grams: NDArray[np.float64]) -> Amounts:
    return Amounts(*(float(gram) for gram in grams))
