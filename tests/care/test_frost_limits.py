"""What a plant stands on a frost night."""

from dataclasses import replace

import pytest

from lifecycle.care.frost_limits import FROST_C, KILLING_C, Limits, is_exposed, limits_of
from lifecycle.handbook import CROPS
from lifecycle.handbook.facts import Fact
from lifecycle.life.phases import Phase

PEPPER = CROPS["annuum"]
OPEN = {"sheltered": False, "in_pot": False}


def with_facts(**values: float):
    """A pepper with other limits, in C."""
    facts = {
        **PEPPER.facts,
        **{name: Fact(name, value, "C", "practice", "memory") for name, value in values.items()},
    }
    return replace(PEPPER, facts=facts)


def test_frost_is_the_published_32_and_36_f() -> None:
    """Freeze categories of NOAA/NCEI; frost advisory of the National Weather Service."""
    assert pytest.approx(0.0) == KILLING_C
    assert pytest.approx(4 / 1.8) == FROST_C


@pytest.mark.parametrize(
    "species", ["annuum", "chinense", "pubescens", "tomato_cherry", "eggplant", "bean", "squash"]
)
def test_tender_crops_die_at_32_f_and_are_harmed_at_36_not_at_their_chilling(species) -> None:
    found = limits_of(CROPS[species], Phase.BEARING, **OPEN)
    assert found is not None
    assert found.kill_c == pytest.approx(0.0)
    assert found.harm_c == pytest.approx(4 / 1.8)


@pytest.mark.parametrize("species", ["garlic", "pea", "brassica", "lettuce"])
def test_a_crop_without_a_published_frost_limit_has_none(species) -> None:
    assert limits_of(CROPS[species], Phase.GROWING, **OPEN) is None


def test_a_colder_chilling_limit_goes_first_but_never_below_the_killing_one() -> None:
    hardy = limits_of(with_facts(chill_night=1.0), Phase.GROWING, **OPEN)
    assert hardy is not None
    assert hardy.harm_c == 1.0
    odd = limits_of(with_facts(chill_night=-3.0, kill=-1.0), Phase.GROWING, **OPEN)
    assert odd == Limits(-1.0, -1.0)


@pytest.mark.parametrize("phase", list(Phase))
def test_what_stands_out(phase) -> None:
    out = phase not in (Phase.PLANNED, Phase.SOWN, Phase.ENDED)
    assert is_exposed(phase, sheltered=False) is out
    # Under a roof only a plant that is being hardened off is out.
    assert is_exposed(phase, sheltered=True) is (phase is Phase.HARDENING)
    assert (limits_of(PEPPER, phase, sheltered=True, in_pot=True) is None) is (
        phase is not Phase.HARDENING
    )


@pytest.mark.parametrize(
    ("phase", "in_pot", "movable", "crown"),
    [
        (Phase.BEARING, False, False, False),
        (Phase.BEARING, True, True, False),
        (Phase.HARDENING, False, True, False),
        (Phase.RESTING, False, False, True),
        (Phase.RESTING, True, True, False),
    ],
)
def test_what_can_be_carried_and_whose_crown_nobody_knows(phase, in_pot, movable, crown) -> None:
    found = limits_of(PEPPER, phase, sheltered=False, in_pot=in_pot)
    assert found is not None
    assert (found.movable, found.crown_unknown) == (movable, crown)
