"""Light that plants use: what a lamp, a window or the sky gives in a day.

PPFD is the photosynthetic photon flux density in umol per square metre and second; the daily
light integral (DLI) is what it adds up to in a day, in mol per square metre.
"""

from enum import StrEnum

from lifecycle.agronomy.bounds import number_within

#: Full sun is about 2,000 umol; no grow lamp exceeds this bound.
MOST_PPFD = 3000.0
_MOST_DLI = 100.0
_MOST_SOLAR_MJ = 50.0
_MOST_LUX_PER_UMOL = 200.0
_MOST_LUX = 1_000_000.0
_SECONDS_IN_HOUR = 3600
_UMOL_IN_MOL = 1_000_000
#: 0.45 of solar energy is usable light, 4.57 umol per joule of it; from memory.
_MOL_PER_MJ = 2.06


class LightSource(StrEnum):
    """A source whose spectrum ties lux and foot-candles to umol."""

    SUN = "sun"
    COOL_WHITE = "cool white fluorescent"
    METAL_HALIDE = "metal halide"
    HIGH_PRESSURE_SODIUM = "high pressure sodium"


#: Lux, and foot-candles, of 1 umol by source: Thimijan & Heins 1983, HortScience 18:818-822, as
#: given by Apogee Instruments' conversion pages. LED lamps differ: take the maker's figure.
LUX_PER_UMOL = {
    LightSource.SUN: 54.0,
    LightSource.COOL_WHITE: 74.0,
    LightSource.METAL_HALIDE: 71.0,
    LightSource.HIGH_PRESSURE_SODIUM: 82.0,
}
FOOT_CANDLES_PER_UMOL = {
    LightSource.SUN: 5.01,
    LightSource.COOL_WHITE: 6.87,
    LightSource.METAL_HALIDE: 6.60,
    LightSource.HIGH_PRESSURE_SODIUM: 7.62,
}


def daily_light_integral(ppfd: float, hours: float) -> float:
    """DLI of a steady light of `ppfd` (0 to 3,000 umol) for `hours` (0 to 24) a day."""
    lit = number_within("The hours of light", hours, 0, 24, "hours a day")
    return _ppfd(ppfd) * _SECONDS_IN_HOUR * lit / _UMOL_IN_MOL


def ppfd_of(reading: float, per_umol: float) -> float:
    """PPFD of a light meter's reading in lux or foot-candles.

    `per_umol` is how much of the meter's unit 1 umol gives: from `LUX_PER_UMOL` or
    `FOOT_CANDLES_PER_UMOL` by source, or the lamp maker's figure. ValueError when the light comes
    out above 3,000 umol.
    """
    light = number_within("The meter's reading", reading, 0, _MOST_LUX)
    factor = number_within("The meter's unit per umol", per_umol, 1, _MOST_LUX_PER_UMOL)
    return _ppfd(light / factor)


def lamp_hours(target_dli: float, lamp_ppfd: float, window_dli: float = 0.0) -> float | None:
    """Hours a day a lamp must burn to bring the window's light up to a target DLI.

    0 when the window gives enough; None when 24 hours are too few.
    """
    wanted = _dli("The target", target_dli) - _dli("The light of the window", window_dli)
    whole_day = daily_light_integral(lamp_ppfd, 24)
    if wanted <= 0:
        return 0.0
    if wanted > whole_day:
        return None
    return 24 * wanted / whole_day


def dli_of_radiation(solar_mj: float) -> float:
    """DLI outdoors from solar radiation in MJ per square metre and day, 2.06 mol per MJ."""
    return _MOL_PER_MJ * number_within(
        "Solar radiation", solar_mj, 0, _MOST_SOLAR_MJ, "MJ/m2 a day"
    )


def window_dli(outdoor_dli: float, share: float) -> float:
    """DLI behind glass, a share (0 to 1) of what falls outdoors."""
    return _dli("The light outdoors", outdoor_dli) * number_within(
        "The share of light that a window lets through", share, 0, 1
    )


def _ppfd(ppfd: float) -> float:
    return number_within("The light level", ppfd, 0, MOST_PPFD, "umol/m2/s")


def _dli(what: str, dli: float) -> float:
    return number_within(what, dli, 0, _MOST_DLI, "mol/m2 a day")
