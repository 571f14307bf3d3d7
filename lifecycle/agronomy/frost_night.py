"""A frost night ahead: its minimum from the evening, its course, and whether it is clear and calm.

After Snyder & de Melo-Abreu, Frost Protection: fundamentals, practice and economics, FAO
Environment and Natural Resources Series 10, 2005, ch. 5. On radiation-frost nights (light wind, no
cloud, fog or rain) the minimum follows from temperature and dew point two hours after sunset.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lifecycle.agronomy.bounds import number_within, within
from lifecycle.agronomy.evapotranspiration import saturation_vapour_pressure

#: Nights that a formula is fitted on at least; common practice, no source.
NIGHTS_FOR_FORMULA = 10

_COLDEST_C, _WARMEST_C = -95.0, 60.0
_HOURS_AFTER_SUNSET = 2
_RADIATION_WIND_M_S, _RADIATION_CLOUD_PERCENT = 2.0, 30.0


@dataclass(frozen=True, slots=True)
class FrostFormula:
    """Minimum = `by_temperature` x T0 + `by_dew_point` x Td + `constant`, in C.

    T0 and Td are temperature and dew point two hours after sunset. `temperature_constant` takes
    the place of the last two terms where no dew point is known. `rmse` is that of the fit on
    `nights`, in C.
    """

    by_temperature: float
    by_dew_point: float
    constant: float
    temperature_constant: float
    rmse: float
    nights: int

    def predict(self, evening_c: float, dew_point_c: float | None = None) -> float:
        """The night's minimum in C, by the dew point too where it is known."""
        evening = number_within("The evening temperature", evening_c, _COLDEST_C, _WARMEST_C, "C")
        if dew_point_c is None:
            return self.by_temperature * evening + self.temperature_constant
        dew = number_within("The dew point", dew_point_c, _COLDEST_C, _WARMEST_C, "C")
        return self.by_temperature * evening + self.by_dew_point * dew + self.constant


def fit_frost_formula(
    evening_c: ArrayLike, dew_point_c: ArrayLike, minimum_c: ArrayLike
) -> FrostFormula:
    """Fit the formula on radiation-frost nights: arrays of shape (nights,), C.

    Two steps as FAO gives them, not a multiple regression: the minimum on the evening temperature,
    then what that leaves on the dew point. ValueError for fewer than 10 nights, lists of
    unequal length, or evenings or dew points that are all the same.
    """
    evening = within("An evening temperature", evening_c, _COLDEST_C, _WARMEST_C, "C")
    dew = within("A dew point", dew_point_c, _COLDEST_C, _WARMEST_C, "C")
    minimum = within("A minimum", minimum_c, _COLDEST_C, _WARMEST_C, "C")
    if not evening.shape == dew.shape == minimum.shape or evening.ndim != 1:
        raise ValueError(
            f"There are {evening.size} evening temperatures, {dew.size} dew points and "
            f"{minimum.size} minima; give one of each for every night."
        )
    if evening.size < NIGHTS_FOR_FORMULA:
        raise ValueError(
            f"A frost formula needs {NIGHTS_FOR_FORMULA} radiation-frost nights and there are "
            f"{evening.size}; give more."
        )
    a, temperature_constant = _line(evening, minimum, "evening temperature")
    left = minimum - (a * evening + temperature_constant)
    b, dew_constant = _line(dew, left, "dew point")
    residuals = left - (b * dew + dew_constant)
    return FrostFormula(
        by_temperature=a,
        by_dew_point=b,
        constant=temperature_constant + dew_constant,
        temperature_constant=temperature_constant,
        rmse=math.sqrt(float(np.mean(residuals**2))),
        nights=evening.size,
    )


def _line(x: NDArray[np.float64], y: NDArray[np.float64], what: str) -> tuple[float, float]:
    """Slope and intercept of the least-squares line."""
    off = x - x.mean()
    squares = float(np.sum(off**2))
    if squares < 1e-6:
        raise ValueError(f"The {what} is the same on every night; give nights that differ.")
    slope = float(np.sum(off * y)) / squares
    return slope, float(y.mean()) - slope * float(x.mean())


def night_trend(
    evening_c: float, minimum_c: float, night_hours: float, hours: ArrayLike
) -> NDArray[np.float64]:
    """Temperature at `hours` after sunset, from 2 to the length of the night, in C.

    Falls from `evening_c`, two hours after sunset, to `minimum_c` at sunrise with the square root
    of time. `night_hours` runs from sunset to sunrise. ValueError for hours outside the night.
    """
    evening = number_within("The evening temperature", evening_c, _COLDEST_C, _WARMEST_C, "C")
    minimum = number_within("The minimum", minimum_c, _COLDEST_C, _WARMEST_C, "C")
    length = number_within("The length of the night", night_hours, 3, 24, "hours")
    after = within("An hour of the night", hours, _HOURS_AFTER_SUNSET, length, "hours after sunset")
    passed = (after - _HOURS_AFTER_SUNSET) / (length - _HOURS_AFTER_SUNSET)
    return evening + (minimum - evening) * np.sqrt(passed)


def dew_point(air_c: float, humidity_percent: float) -> float:
    """Dew point in C from temperature and relative humidity.

    The constants are those of saturation vapour pressure in FAO-56 (eq 11: 0.6108, 17.27, 237.3);
    other sets differ by some hundredths of a degree. ValueError for humidity under 1 or over
    100 percent.
    """
    air = number_within("The air temperature", air_c, _COLDEST_C, _WARMEST_C, "C")
    humidity = number_within("Relative humidity", humidity_percent, 1, 100, "percent")
    pressure = float(saturation_vapour_pressure(air)) * humidity / 100
    x = math.log(pressure / 0.6108) / 17.27
    return 237.3 * x / (1 - x)


def is_radiation_night(wind_m_s: float, cloud_percent: float) -> bool:
    """Whether a night is calm (under 2 m/s) and clear (under 30 % cloud): covers help in it.

    In wind a frost comes with the air, and covers help little. The wind is FAO's limit; the cloud
    limit is common practice, no source.
    """
    wind = number_within("The wind", wind_m_s, 0, 120, "m/s")
    cloud = number_within("Cloud cover", cloud_percent, 0, 100, "percent")
    return wind < _RADIATION_WIND_M_S and cloud < _RADIATION_CLOUD_PERCENT
