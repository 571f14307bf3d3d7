"""The units in which sources print, and their values in SI.

SI here: C, days, cm for lengths of plants, mm for water, m, m2, shares from 0 to 1, g and g per m2.
"""

from dataclasses import dataclass

_POUND_G = 453.59237
_SQ_FT_M2 = 0.09290304
_ACRE_SQ_FT = 43_560


@dataclass(frozen=True, slots=True)
class Unit:
    """A printed unit: how a page writes it, the SI unit, and the way from the one to the other."""

    printed: str
    si: str
    factor: float = 1.0
    offset: float = 0.0
    divisor: float = 1.0

    def in_si(self, value: float) -> float:
        """Return a printed value in the SI unit."""
        return (value - self.offset) * self.factor / self.divisor


UNITS: dict[str, Unit] = {
    "F": Unit("°F", "C", 1 / 1.8, 32),
    "C": Unit("°C", "C"),
    "dF": Unit("degrees F", "dC", 1 / 1.8),
    "dC": Unit("degrees C", "dC"),
    "hours": Unit("hours", "hours"),
    "minutes": Unit("minutes", "hours", divisor=60),
    "days": Unit("days", "days"),
    "weeks": Unit("weeks", "days", 7),
    "months": Unit("months", "days", 365.25 / 12),
    "years": Unit("years", "days", 365.25),
    "MM-DD": Unit("", "MM-DD"),
    "cm": Unit("cm", "cm"),
    "in": Unit("in", "cm", 2.54),
    "ft": Unit("ft", "cm", 30.48),
    "mm": Unit("mm", "mm"),
    "in water": Unit("in of water", "mm", 25.4),
    "m": Unit("m", "m"),
    "ft altitude": Unit("ft", "m", 0.3048),
    "m2": Unit("m²", "m2"),
    "ft2": Unit("sq ft", "m2", _SQ_FT_M2),
    "share": Unit("", "share"),
    # Divided, not multiplied: 70 % is then the share 0.7 itself, and 14 of 20 reach it.
    "percent": Unit("%", "share", divisor=100),
    "ratio": Unit("", "ratio"),
    "count": Unit("", "count"),
    "g": Unit("g", "g"),
    "lb": Unit("lb", "g", _POUND_G),
    "g/m2": Unit("g/m²", "g/m2"),
    "lb/1000ft2": Unit("lb per 1,000 sq ft", "g/m2", _POUND_G / (1000 * _SQ_FT_M2)),
    "lb/100ft2": Unit("lb per 100 sq ft", "g/m2", _POUND_G / (100 * _SQ_FT_M2)),
    "lb/acre": Unit("lb per acre", "g/m2", _POUND_G / (_ACRE_SQ_FT * _SQ_FT_M2)),
    "oz/yd2": Unit("oz per sq yd", "g/m2", _POUND_G / 16 / (9 * _SQ_FT_M2)),
    "lb/ft2": Unit("lb per sq ft", "g/m2", _POUND_G / _SQ_FT_M2),
    "g/ml": Unit("g per ml", "g/ml"),
    "litre": Unit("litres", "litre"),
    "gal": Unit("gal", "litre", 3.785411784),
    "ppm": Unit("ppm", "ppm"),
    "psi": Unit("psi", "psi"),
    "pH": Unit("", "pH"),
    "mol/m2/d": Unit("mol per m² a day", "mol/m2/d"),
    "umol/m2/s": Unit("µmol per m² a second", "umol/m2/s"),
    "lux/umol": Unit("lux per µmol", "lux/umol"),
    "fc/umol": Unit("foot-candles per µmol", "fc/umol"),
}
