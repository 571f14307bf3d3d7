"""Headlines of National Weather Service offices: NWS Blacksburg 2007; D. Ritchison, North Dakota.

Offices differ: some begin a freeze warning at 29 F, some ask two hours for a hard freeze.
"""

import pytest

from lifecycle.agronomy.daily_record import celsius
from lifecycle.agronomy.freeze_class import ForecastClass, forecast_class
from lifecycle.agronomy.frost_night import is_radiation_night


@pytest.mark.parametrize(
    ("forecast_f", "expected"),
    [
        (37, ForecastClass.NONE),
        (36, ForecastClass.FROST_ADVISORY),
        (34, ForecastClass.FROST_ADVISORY),
        (33, ForecastClass.FROST_ADVISORY),
        (32, ForecastClass.FREEZE_WARNING),
        (31, ForecastClass.FREEZE_WARNING),
        (28, ForecastClass.HARD_FREEZE_WARNING),
    ],
)
def test_calm_clear_night_in_season(forecast_f, expected):
    calm_and_clear = is_radiation_night(wind_m_s=1, cloud_percent=0)
    found = forecast_class(celsius(forecast_f), calm_and_clear=calm_and_clear, in_season=True)
    assert found is expected
