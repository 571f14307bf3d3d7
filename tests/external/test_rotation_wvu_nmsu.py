"""How long peppers and their kin stay out of a bed.

West Virginia University Extension 2025: two to three years away. New Mexico State University,
Guide H-230: chile no more than once every three to four years.
"""

import pytest

from lifecycle.agronomy.rotation import RotationRule, RotationVerdict, once_in, verdict

RULES = [RotationRule(2, 3), once_in(3, 4)]


@pytest.mark.parametrize("rule", RULES, ids=["WVU", "NMSU"])
@pytest.mark.parametrize(
    ("planned", "expected"),
    [
        (2027, RotationVerdict.TOO_SOON),
        (2028, RotationVerdict.LOW_END),
        (2029, RotationVerdict.HIGH_END),
    ],
)
def test_solanaceae_in_2025(rule, planned, expected):
    assert verdict([2025], planned, rule) is expected
