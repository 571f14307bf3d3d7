"""What a minimum means in the words of the weather services, and for a plant under a cover.

Their limits are whole degrees F. A minimum in C counts as at a limit within 0.05 C, the rounding of
tenths: 28 F stored as -2.2 C is 28.04 F and still a moderate freeze. One that was read in whole
degrees F is rounded back to them.
"""

from dataclasses import dataclass
from enum import StrEnum

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.daily_record import CELSIUS_SLACK

_COLDEST_C, _WARMEST_C = -95.0, 60.0
_LIGHT_F, _MODERATE_F, _SEVERE_F = 32, 28, 24
_ADVISORY_F, _WARNING_F, _HARD_FREEZE_F = 36, 32, 28
_MOST_GAIN_C = 15.0
# A limit of 50 F handed over in C may come out a hair off.
_ROUNDING = 1e-9


class FreezeClass(StrEnum):
    """Freeze by what it kills (NOAA/NCEI, Climatography of the United States No. 20)."""

    NONE = "no freeze"
    LIGHT = "light freeze"
    MODERATE = "moderate freeze"
    SEVERE = "severe freeze"


def freeze_class(minimum_c: float, *, whole_fahrenheit: bool = False) -> FreezeClass:
    """Light from 32 F down, moderate from 28 F, severe from 24 F; by a minimum in C.

    `whole_fahrenheit` says that it was read in whole degrees F.
    """
    degrees_f = _limit_f(minimum_c, whole_fahrenheit)
    if degrees_f <= _SEVERE_F:
        return FreezeClass.SEVERE
    if degrees_f <= _MODERATE_F:
        return FreezeClass.MODERATE
    return FreezeClass.LIGHT if degrees_f <= _LIGHT_F else FreezeClass.NONE


class ForecastClass(StrEnum):
    """The headline a forecast would have at a National Weather Service office of the US."""

    NONE = "none"
    FROST_ADVISORY = "frost advisory"
    FREEZE_WARNING = "freeze warning"
    HARD_FREEZE_WARNING = "hard freeze warning"


def forecast_class(
    minimum_c: float, *, calm_and_clear: bool, in_season: bool, whole_fahrenheit: bool = False
) -> ForecastClass:
    """Hard freeze from 28 F down, freeze from 32 F, frost from 36 F (NWS Blacksburg 2007).

    Frost needs a calm clear night in the growing season: the shelter's thermometer hangs above
    colder ground. The service also stops its freeze headlines out of season; this does not, for
    plants that stand out all year.
    """
    degrees_f = _limit_f(minimum_c, whole_fahrenheit)
    if degrees_f <= _HARD_FREEZE_F:
        return ForecastClass.HARD_FREEZE_WARNING
    if degrees_f <= _WARNING_F:
        return ForecastClass.FREEZE_WARNING
    if degrees_f <= _ADVISORY_F and calm_and_clear and in_season:
        return ForecastClass.FROST_ADVISORY
    return ForecastClass.NONE


class ColdClass(StrEnum):
    """What a minimum does to a plant of given limits."""

    WARM = "no harm"
    CHILLING = "chilling"
    FREEZING = "freezing"


def cold_class(minimum_c: float, *, chilling_c: float, freezing_c: float) -> ColdClass:
    """Chilling below the one limit, freezing at or below the other; all in C.

    ValueError when the freezing limit is not below the chilling limit.
    """
    minimum = _minimum(minimum_c)
    if freezing_c >= chilling_c:
        raise ValueError(
            f"The freezing limit {freezing_c:g} C is not below the chilling limit {chilling_c:g} "
            "C; check whether the two were swapped."
        )
    if minimum <= freezing_c + _ROUNDING:
        return ColdClass.FREEZING
    return ColdClass.CHILLING if minimum < chilling_c - _ROUNDING else ColdClass.WARM


@dataclass(frozen=True, slots=True)
class CoveredMinimum:
    """The coldest a plant has it under a cover, by the low and the high end of what it is worth.

    Judge by `low_c`.
    """

    low_c: float
    high_c: float


def under_cover(minimum_c: float, low_gain_c: float, high_gain_c: float) -> CoveredMinimum:
    """The minimum under a cover that keeps a plant warmer by so many C, at least and at most.

    ValueError for gains that are negative, over 15 C, or in the wrong order.
    """
    minimum = _minimum(minimum_c)
    low = number_within("The low gain of a cover", low_gain_c, 0, _MOST_GAIN_C, "C")
    high = number_within("The high gain of a cover", high_gain_c, low, _MOST_GAIN_C, "C")
    return CoveredMinimum(minimum + low, minimum + high)


def _minimum(minimum_c: float) -> float:
    return number_within("The minimum", minimum_c, _COLDEST_C, _WARMEST_C, "C")


def _limit_f(minimum_c: float, whole_fahrenheit: bool) -> float:
    """Degrees F to hold against a limit with `<=`."""
    minimum = _minimum(minimum_c)
    if whole_fahrenheit:
        return round(minimum * 1.8 + 32)
    return (minimum - CELSIUS_SLACK) * 1.8 + 32 - _ROUNDING
