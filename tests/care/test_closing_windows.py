"""Which steps a cold night puts an end to, and which night that is."""

import pytest

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.closing_windows import CLOSED_BY_COLD, closing_low, closing_low_of
from lifecycle.handbook import CROPS
from lifecycle.life.phases import Phase

CLOSED = {"lift", "winter_quarters", "last_pick", "backup", "take_cutting", "label_check"}
PARTNER = next(key for key, crop in CROPS.items() if crop.find("kill") is None)


@pytest.mark.parametrize("kind", sorted(STEP_RULES))
def test_what_must_be_done_before_the_cold(kind: str) -> None:
    assert closing_low_of(kind, "annuum") == (0 if kind in CLOSED else None)
    out = closing_low(kind, "annuum", Phase.BEARING, sheltered=False, in_pot=False)
    assert out == closing_low_of(kind, "annuum")


def test_they_are_steps_of_the_catalogue() -> None:
    assert CLOSED_BY_COLD == CLOSED <= set(STEP_RULES)


@pytest.mark.parametrize("species", sorted(CROPS))
def test_the_night_is_the_crop_s_own(species: str) -> None:
    kill = CROPS[species].find("kill")
    assert closing_low_of("lift", species) == (None if kill is None else kill.si)


def test_nothing_closes_for_what_no_published_frost_kills() -> None:
    assert closing_low_of("lift", PARTNER) is None
    low = closing_low("lift", PARTNER, Phase.GROWING, sheltered=False, in_pot=True)
    assert low is None


@pytest.mark.parametrize("in_pot", [True, False])
@pytest.mark.parametrize("phase", list(Phase))
def test_under_a_roof_nothing_closes_but_for_what_hardens(phase: Phase, in_pot: bool) -> None:
    """Hardening plants stand out whatever their place says."""
    low = closing_low("lift", "annuum", phase, sheltered=True, in_pot=in_pot)
    assert (low is not None) is (phase is Phase.HARDENING)
