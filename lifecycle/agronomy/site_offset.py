"""How much colder or warmer a site's nights are than the station's, from nights paired by date.

From 30 nights on a straight line of site on station; from 7 the mean difference; below that
nothing but a guess by height. A prediction carries its spread, so that the chance of a frost can be
told. Clear nights differ from cloudy ones and spring from autumn: say which nights were paired.
"""

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtr, stdtrit

from lifecycle.agronomy.bounds import number_within, within
from lifecycle.agronomy.survival import Interval, checked_confidence

NIGHTS_FOR_MEAN, NIGHTS_FOR_LINE = 7, 30
#: Air cools by so much with height (ISO standard atmosphere, from memory), C per m.
LAPSE_C_PER_M = -0.0065

_COLDEST_C, _WARMEST_C = -95.0, 60.0
# Slopes between all pairs of so many nights are half a million numbers.
_MOST_NIGHTS_IN_PAIRS = 1000
# A station that reads the same to a millionth of a degree every night is not read at all.
_LEAST_SPREAD = 1e-6


class OffsetMethod(StrEnum):
    """What an offset rests on."""

    LINE = "a line through paired nights"
    MEAN = "the mean difference of paired nights"


@dataclass(frozen=True, slots=True)
class Prediction:
    """A night's minimum at the site in C, the standard deviation of that, and its degrees of
    freedom. `beyond_record` when the station is colder or warmer than on any paired night.
    """

    expected_c: float
    sd: float
    df: int
    beyond_record: bool

    def interval(self, confidence: float = 0.9) -> Interval:
        """Prediction interval: the night's minimum lies in it with this probability."""
        return _around(self.expected_c, self.sd, self.df, confidence)


@dataclass(frozen=True, slots=True)
class SiteOffset:
    """Site minimum = intercept + slope x station minimum, fitted on `nights` from first to last.

    `residual_sd` is that of the nights about it, with `df` degrees of freedom. `robust_slope` is
    Theil and Sen's, of a line only: far from `slope`, a few odd nights decide the line.
    """

    method: OffsetMethod
    nights: int
    first: date
    last: date
    intercept: float
    slope: float
    residual_sd: float
    df: int
    robust_slope: float | None
    station_mean: float
    station_squares: float
    station_coldest: float
    station_warmest: float

    def predict(self, station_c: float) -> Prediction:
        """The site's minimum on a night for which the station is told `station_c`."""
        station = number_within("The station's minimum", station_c, _COLDEST_C, _WARMEST_C, "C")
        share = 1 + 1 / self.nights
        if self.method is OffsetMethod.LINE:
            share += (station - self.station_mean) ** 2 / self.station_squares
        return Prediction(
            self.intercept + self.slope * station,
            self.residual_sd * math.sqrt(share),
            self.df,
            not self.station_coldest <= station <= self.station_warmest,
        )

    def mean_interval(self, confidence: float = 0.9) -> Interval:
        """Interval of the site's mean minimum less the station's, over the nights that were paired.

        Of a line, about the difference at the station's mean.
        """
        at_mean = self.intercept + (self.slope - 1) * self.station_mean
        error = self.residual_sd / math.sqrt(self.nights)
        return _around(at_mean, error, self.df, confidence)


def nights_short(nights: int) -> int:
    """How many more paired nights an offset needs; 0 from 7 nights on."""
    return max(NIGHTS_FOR_MEAN - nights, 0)


def fit_offset(site_c: ArrayLike, station_c: ArrayLike, first: date, last: date) -> SiteOffset:
    """Fit a site's minima on the station's, night by night, both in C of shape (nights,).

    NaN stands for a night that one of the two missed; it is left out. ValueError below 7 nights,
    for lists of unequal length, temperatures no air has, dates in the wrong order, or 30 nights
    on which the station never changed.
    """
    site, station = _paired(site_c, station_c)
    if first > last:
        raise ValueError(f"The nights cannot run from {first} to {last}; give the earlier first.")
    nights = site.size
    if nights < NIGHTS_FOR_MEAN:
        raise ValueError(
            f"An offset needs {NIGHTS_FOR_MEAN} paired nights and there are {nights}; pair "
            f"{nights_short(nights)} more."
        )
    mean = float(station.mean())
    squares = float(np.sum((station - mean) ** 2))
    if nights < NIGHTS_FOR_LINE:
        method, slope, robust, df = OffsetMethod.MEAN, 1.0, None, nights - 1
    else:
        _check_station_changes(squares)
        slope = float(np.sum((station - mean) * site)) / squares
        method, robust, df = OffsetMethod.LINE, theil_sen_slope(site, station), nights - 2
    intercept = float(site.mean()) - slope * mean
    residuals = site - intercept - slope * station
    return SiteOffset(
        method=method,
        nights=nights,
        first=first,
        last=last,
        intercept=intercept,
        slope=slope,
        residual_sd=math.sqrt(float(np.sum(residuals**2)) / df),
        df=df,
        robust_slope=robust,
        station_mean=mean,
        station_squares=squares,
        station_coldest=float(station.min()),
        station_warmest=float(station.max()),
    )


def theil_sen_slope(site_c: NDArray[np.float64], station_c: NDArray[np.float64]) -> float:
    """Median of the slopes between any two nights on which the station differed (Theil 1950, Sen
    1968); of more than 1,000 nights, on 1,000 spread evenly over them.
    """
    some = np.linspace(0, site_c.size - 1, min(site_c.size, _MOST_NIGHTS_IN_PAIRS)).astype(int)
    site, station = site_c[some], station_c[some]
    one, other = np.triu_indices(some.size, 1)
    run = station[other] - station[one]
    rise = site[other] - site[one]
    return float(np.median(rise[run != 0] / run[run != 0]))


def frost_probability(threshold_c: float, prediction: Prediction) -> float:
    """Chance, 0 to 1, that the night falls to the threshold in C or below it.

    By Student's t with the prediction's degrees of freedom. A prediction without any spread
    answers 0 or 1.
    """
    limit = number_within("The threshold", threshold_c, _COLDEST_C, _WARMEST_C, "C")
    if prediction.sd == 0:
        return 1.0 if prediction.expected_c <= limit else 0.0
    return float(stdtr(prediction.df, (limit - prediction.expected_c) / prediction.sd))


def height_offset(site_m: float, station_m: float) -> float:
    """Degrees C to add to the station's minimum for a site at another height: a weak guess.

    It knows no spread, so no chance of frost follows from it. On clear nights cold air drains
    into hollows, and the lower place is often the colder one.
    """
    rise = _height("The site's height", site_m) - _height("The station's height", station_m)
    return LAPSE_C_PER_M * rise


def _height(what: str, metres: float) -> float:
    return number_within(what, metres, -430, 9000, "m")


def _around(centre: float, sd: float, df: int, confidence: float) -> Interval:
    half = sd * float(stdtrit(df, (1 + checked_confidence(confidence)) / 2))
    return Interval(centre - half, centre + half)


def _paired(
    site_c: ArrayLike, station_c: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    site = within("A minimum at the site", site_c, _COLDEST_C, _WARMEST_C, "C", gaps=True)
    station = within("A minimum at the station", station_c, _COLDEST_C, _WARMEST_C, "C", gaps=True)
    if site.shape != station.shape or site.ndim != 1:
        raise ValueError(
            f"There are {site.size} minima at the site and {station.size} at the station; give "
            "one of each for every night."
        )
    both = ~np.isnan(site) & ~np.isnan(station)
    return site[both], station[both]


def _check_station_changes(squares: float) -> None:
    if squares < _LEAST_SPREAD:
        raise ValueError(
            "The station has the same minimum on every paired night; check its record, or give "
            "nights that differ."
        )
