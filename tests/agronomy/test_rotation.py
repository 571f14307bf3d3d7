"""Years between plantings of a family in one bed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refused import refusal

from lifecycle.agronomy.rotation import (
    RotationRule,
    RotationVerdict,
    earliest_year,
    last_stood,
    once_in,
    verdict,
    years_since,
)

RULE = RotationRule(2, 3)
histories = st.lists(st.integers(2000, 2030), max_size=8)


@pytest.mark.parametrize(
    ("planned", "expected"),
    [
        (2024, RotationVerdict.FREE),
        (2025, RotationVerdict.TOO_SOON),
        (2027, RotationVerdict.TOO_SOON),
        (2028, RotationVerdict.LOW_END),
        (2029, RotationVerdict.HIGH_END),
        (2040, RotationVerdict.HIGH_END),
    ],
)
def test_two_to_three_years_away(planned, expected):
    assert verdict([2025], planned, RULE) == expected


def test_one_year_in_so_many_is_one_less_away():
    assert once_in(3, 4) == RULE
    assert once_in(1, 1) == RotationRule(0, 0)
    assert verdict([2025], 2025, once_in(1, 1)) == "too soon"
    assert verdict([2025], 2026, once_in(1, 1)) == "meets the longer interval"
    assert verdict([], 2026, RULE) == "the family has not stood here"
    assert verdict([2023], 2026, RULE) == "meets the shorter interval"


def test_only_the_latest_year_so_far_counts():
    assert last_stood([2019, 2025, 2021, 2031], 2030) == 2025
    assert last_stood([2031], 2030) is None
    assert last_stood([2030], 2030) == 2030
    assert years_since([2019, 2025], 2028) == 3
    assert years_since([2028], 2028) == 0
    assert years_since([], 2028) is None
    assert earliest_year(2025, 2) == 2028


@given(histories, st.integers(2000, 2030), st.integers(0, 6), st.integers(0, 6))
def test_the_earliest_year_is_the_first_that_is_not_too_soon(stood, planned, least, more):
    rule = RotationRule(least, least + more)
    last = last_stood(stood, planned)
    found = verdict(stood, planned, rule)
    if last is None:
        assert found is RotationVerdict.FREE
    else:
        assert (found is RotationVerdict.TOO_SOON) == (planned < earliest_year(last, least))
        assert (found is RotationVerdict.HIGH_END) == (planned >= earliest_year(last, least + more))


@pytest.mark.parametrize(("least", "most"), [(-1, 3), (3, 2), (2, 21)])
def test_a_rule_in_the_wrong_order_is_refused(least, most):
    assert refusal(lambda: RotationRule(least, most)) == (
        f"A family cannot stay away {least} to {most} years; give two whole numbers from 0 to 20, "
        "the smaller first."
    )
    assert RotationRule(20, 20)
