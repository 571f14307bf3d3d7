"""Water a bed loses to the air: reference evapotranspiration, and a crop's share of it.

Equation numbers are those of FAO-56: Allen, Pereira, Raes & Smith 1998, FAO Irrigation and
Drainage Paper 56. Temperatures in degrees C, radiation in MJ per square metre and day, water in
mm per day.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import day_extremes, number_within, within

Floats = NDArray[np.float64]

#: Water that 1 MJ evaporates from a square metre, mm (eq 20).
_MM_PER_MJ = 0.408
_MOST_RADIATION = 50.0
#: More than any day on earth evaporates.
MOST_MM_A_DAY = 30.0
_HIGHEST_KC = 2.0
_LEAST_P, _MOST_P = 0.1, 0.8


class Setting(Enum):
    """Where a site lies, by the coefficient kRs that turns its daily range into radiation."""

    INLAND = 0.16
    COAST = 0.19


def saturation_vapour_pressure(temperature_c: ArrayLike) -> Floats:
    """Saturation vapour pressure in kPa at a temperature (eq 11)."""
    degrees = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(0.6108 * np.exp(17.27 * degrees / (degrees + 237.3)))


def mean_saturation_vapour_pressure(tmin_c: ArrayLike, tmax_c: ArrayLike) -> Floats:
    """Mean saturation vapour pressure of a day in kPa (eq 12)."""
    low, high = day_extremes(tmin_c, tmax_c)
    return (saturation_vapour_pressure(low) + saturation_vapour_pressure(high)) / 2


def hargreaves(tmin_c: ArrayLike, tmax_c: ArrayLike, radiation: ArrayLike) -> Floats:
    """Reference evapotranspiration ET0 from extremes and extraterrestrial radiation (eq 52).

    Never below 0; NaN where a value is missing. ValueError when a maximum lies below its minimum.
    """
    low, high = day_extremes(tmin_c, tmax_c)
    energy = _MM_PER_MJ * _extraterrestrial(radiation)
    et0 = 0.0023 * ((low + high) / 2 + 17.8) * np.sqrt(high - low) * energy
    return np.maximum(et0, 0.0)


def radiation_from_range(
    tmin_c: ArrayLike, tmax_c: ArrayLike, radiation: ArrayLike, setting: Setting = Setting.INLAND
) -> Floats:
    """Solar radiation at the ground from the daily range and extraterrestrial radiation (eq 50)."""
    low, high = day_extremes(tmin_c, tmax_c)
    return np.asarray(setting.value * np.sqrt(high - low) * _extraterrestrial(radiation))


def _extraterrestrial(radiation: ArrayLike) -> Floats:
    return within("Radiation above the air", radiation, 0, _MOST_RADIATION, "MJ/m2 a day")


@dataclass(frozen=True, slots=True)
class CropStages:
    """Lengths in days of a crop's four stages and its coefficient Kc in them (FAO-56 ch. 6).

    Kc is `kc_initial` in the first stage, rises along a line through `development`, stays at
    `kc_middle`, and runs along a line through `late` to `kc_end`.
    """

    initial: int
    development: int
    middle: int
    late: int
    kc_initial: float
    kc_middle: float
    kc_end: float

    def __post_init__(self) -> None:
        """ValueError when a stage is shorter than a day or a coefficient cannot be."""
        for days in (self.initial, self.development, self.middle, self.late):
            number_within("The length of a crop stage", days, 1, 366, "days")
        for kc in (self.kc_initial, self.kc_middle, self.kc_end):
            number_within("A crop coefficient", kc, 0, _HIGHEST_KC)


def crop_coefficient(stages: CropStages, day: ArrayLike) -> Floats:
    """Kc on each day since planting (0 the planting day), straight lines by eq 66.

    After the last stage it stays at the end value. ValueError for a day before planting.
    """
    number = within("The day since planting", day, 0, 100_000)
    ends = np.cumsum([stages.initial, stages.development, stages.middle, stages.late])
    kc = [stages.kc_initial, stages.kc_middle, stages.kc_middle, stages.kc_end]
    return np.asarray(np.interp(number, ends, kc))


def crop_evapotranspiration(et0: ArrayLike, kc: ArrayLike) -> Floats:
    """Water the crop would use with the soil moist, ETc = Kc ET0 (eq 58); NaN where ET0 is."""
    reference = within("Reference evapotranspiration", et0, 0, MOST_MM_A_DAY, "mm a day", gaps=True)
    return reference * within("A crop coefficient", kc, 0, _HIGHEST_KC)


def depletion_fraction(table_p: float, etc: ArrayLike) -> Floats:
    """Share p of the available water a crop takes without stress, adjusted to ETc.

    p = table + 0.04 (5 - ETc), kept from 0.1 to 0.8 (FAO-56 table 22, footnote 2).
    """
    fraction = number_within("The table value of p", table_p, _LEAST_P, _MOST_P)
    water = within("Crop evapotranspiration", etc, 0, MOST_MM_A_DAY, "mm a day", gaps=True)
    return np.clip(fraction + 0.04 * (5 - water), _LEAST_P, _MOST_P)
