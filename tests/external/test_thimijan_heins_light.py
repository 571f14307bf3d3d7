"""Light units after Thimijan & Heins 1983, HortScience 18:818-822.

The factors are those on Apogee Instruments' conversion pages, which follow the paper.
"""

import pytest

from lifecycle.agronomy.light import (
    FOOT_CANDLES_PER_UMOL,
    LUX_PER_UMOL,
    LightSource,
    daily_light_integral,
    ppfd_of,
)


def test_full_sun():
    assert ppfd_of(108_000, LUX_PER_UMOL[LightSource.SUN]) == pytest.approx(2000, rel=0.01)
    assert 2000 * FOOT_CANDLES_PER_UMOL[LightSource.SUN] == 10_020
    assert ppfd_of(10_020, FOOT_CANDLES_PER_UMOL[LightSource.SUN]) == 2000


@pytest.mark.parametrize(
    ("source", "lux", "foot_candles"),
    [
        (LightSource.SUN, 54, 5.01),
        (LightSource.COOL_WHITE, 74, 6.87),
        (LightSource.METAL_HALIDE, 71, 6.60),
        (LightSource.HIGH_PRESSURE_SODIUM, 82, 7.62),
    ],
)
def test_factors(source, lux, foot_candles):
    assert LUX_PER_UMOL[source] == lux
    assert FOOT_CANDLES_PER_UMOL[source] == foot_candles
    # The same light on a square foot, 10.764 to the square metre.
    assert lux / foot_candles == pytest.approx(10.764, rel=0.005)


def test_a_day_of_light():
    assert daily_light_integral(1, 24) == pytest.approx(0.0864, abs=1e-12)
    assert daily_light_integral(1, 1) == pytest.approx(0.0036, abs=1e-12)
    # Computed independently: 200 umol for 16 h, and 500 foot-candles of sun for 12 h.
    assert daily_light_integral(200, 16) == pytest.approx(11.52, abs=1e-9)
    sunlight = ppfd_of(500, FOOT_CANDLES_PER_UMOL[LightSource.SUN])
    assert daily_light_integral(sunlight, 12) == pytest.approx(4.32, rel=0.005)
