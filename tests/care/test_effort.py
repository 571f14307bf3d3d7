"""How long steps take: all of them known, more plants longer, and fetching counted once."""

import pytest

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.effort import ROUNDED_TO, minutes_for


@pytest.mark.parametrize("kind", sorted(STEP_RULES))
def test_every_kind_of_step_takes_some_minutes(kind: str) -> None:
    minutes = [minutes_for(kind, plants) for plants in (1, 2, 5, 9)]
    assert minutes == sorted(minutes)
    assert all(each > 0 and each % ROUNDED_TO == 0 for each in minutes)
    # Nine together are quicker than one nine times.
    assert minutes[-1] < 9 * minutes[0]


@pytest.mark.parametrize(
    ("kind", "plants", "minutes"),
    [("cut_back", 1, 15), ("cut_back", 9, 80), ("lift", 1, 35), ("feed", 4, 20), ("sow", 1, 45)],
)
def test_fetching_counts_once(kind: str, plants: int, minutes: int) -> None:
    assert minutes_for(kind, plants) == minutes


def test_what_is_no_step_takes_no_guess() -> None:
    with pytest.raises(KeyError):
        minutes_for("moon", 1)
