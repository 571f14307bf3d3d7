"""Light, moderate and severe freeze: NOAA/NCEI, Climatography of the United States No. 20.

Its wording was read at second hand; the University of Maryland's climate monitoring uses the same
limits of 28 and 24 F.
"""

import pytest

from lifecycle.agronomy.daily_record import celsius
from lifecycle.agronomy.freeze_class import FreezeClass, freeze_class


@pytest.mark.parametrize(
    ("minimum_f", "expected"),
    [
        (33, FreezeClass.NONE),
        (32, FreezeClass.LIGHT),
        (30, FreezeClass.LIGHT),
        (29, FreezeClass.LIGHT),
        (28, FreezeClass.MODERATE),
        (26, FreezeClass.MODERATE),
        (25, FreezeClass.MODERATE),
        (24, FreezeClass.SEVERE),
    ],
)
def test_classes_and_their_limits(minimum_f, expected):
    assert freeze_class(celsius(minimum_f)) is expected
    # As a station stores it.
    assert freeze_class(round(celsius(minimum_f), 1), whole_fahrenheit=True) is expected
