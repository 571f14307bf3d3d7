"""Not seen yet: late, not lost."""

from datetime import date

import pytest

from lifecycle.care.unseen import expected_first_growth, not_seen_yet
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PLANT_PHASES, Phase
from tests.care.sites import mirrored, typed_site
from tests.life.facts import fact, life_of, standing

TYPED = typed_site()


def resting(day: date, *, inside: bool) -> Life:
    return life_of([fact(Kind.INHERITED, day, inside=inside, quantity=1, choice="resting")])


@pytest.mark.parametrize(
    ("inside", "expected"),
    [(True, date(2027, 4, 25)), (False, date(2027, 5, 6))],
)
def test_four_weeks_after_its_first_growth_was_due(inside: bool, expected: date) -> None:
    # Under a roof the last day to wake it; outside the day the danger of frost is past.
    life = resting(date(2026, 10, 1), inside=inside)
    assert expected_first_growth(life, TYPED) == expected
    ordinal = expected.toordinal() + 28
    assert not not_seen_yet(life, TYPED, date.fromordinal(ordinal))
    assert not_seen_yet(life, TYPED, date.fromordinal(ordinal + 1))


def test_on_the_other_side_of_the_equator() -> None:
    life = resting(date(2026, 4, 1), inside=True)
    assert expected_first_growth(life, mirrored(TYPED)) == date(2026, 10, 26)


@pytest.mark.parametrize("phase", [p for p in PLANT_PHASES if p is not Phase.RESTING])
def test_only_a_resting_plant_is_waited_for(phase: Phase) -> None:
    life = life_of(standing(phase, inside=True))
    assert expected_first_growth(life, TYPED) is None
    assert not not_seen_yet(life, TYPED, date(2030, 1, 1))
