"""A bucket of tries: never more than it holds, never fewer, and no two askers share one."""

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lifecycle.models import Allowance
from lifecycle.records.people.allowance import LONGEST, give_back, prune, spend
from tests.factories import NOON
from tests.records.threads import all_at_once

MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
waits = st.lists(st.integers(min_value=0, max_value=1200), min_size=1, max_size=40)


def tries(number: int, *, most: int = 3, asker: str = "a") -> list[bool]:
    return [spend("act", asker, most=most, per=HOUR, now=NOON) for _ in range(number)]


@pytest.mark.django_db
def test_as_many_tries_as_it_holds() -> None:
    assert tries(5) == [True, True, True, False, False]


@pytest.mark.django_db
def test_it_fills_with_time_and_not_beyond_its_rim() -> None:
    tries(3)
    later = NOON + 20 * MINUTE
    assert spend("act", "a", most=3, per=HOUR, now=later)
    assert not spend("act", "a", most=3, per=HOUR, now=later)
    much_later = NOON + timedelta(days=9)
    again = [spend("act", "a", most=3, per=HOUR, now=much_later) for _ in range(4)]
    assert again == [True, True, True, False]


@pytest.mark.django_db
def test_askers_and_acts_are_apart() -> None:
    tries(3)
    assert tries(1, asker="b") == [True]
    assert spend("another act", "a", most=1, per=HOUR, now=NOON)
    # Neither is made of the other's end.
    assert spend("act\na", "", most=1, per=HOUR, now=NOON)


@pytest.mark.django_db
def test_a_try_given_back_can_be_taken_once_more() -> None:
    assert tries(3)
    give_back("act", "a", most=3)
    assert tries(2) == [True, False]
    for _ in range(9):
        give_back("act", "a", most=3)
    assert tries(4) == [True, True, True, False]
    give_back("act", "never here", most=3)
    assert Allowance.objects.count() == 1


@pytest.mark.django_db
def test_a_clock_set_back_gives_nothing_and_takes_nothing() -> None:
    tries(2)
    early = NOON - timedelta(days=3)
    assert spend("act", "a", most=3, per=HOUR, now=early)
    assert not spend("act", "a", most=3, per=HOUR, now=early)
    assert not spend("act", "a", most=3, per=HOUR, now=NOON)


@pytest.mark.django_db
def test_the_table_holds_nobodys_address() -> None:
    spend("act", "anna@garden.example", most=3, per=HOUR, now=NOON)
    row = Allowance.objects.get()
    assert len(row.key) == 64
    assert "anna" not in row.key
    assert prune(now=NOON + LONGEST) == 0
    assert prune(now=NOON + LONGEST + MINUTE) == 1


@pytest.mark.django_db(transaction=True)
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(waits=waits, most=st.integers(min_value=1, max_value=6))
def test_no_stretch_of_time_sees_more_than_its_share(waits: list[int], most: int) -> None:
    """Between any two tries: at most a full bucket, and what ran in meanwhile."""
    Allowance.objects.all().delete()
    per = timedelta(minutes=10)
    now, granted = NOON, []
    for wait in waits:
        now += timedelta(seconds=wait)
        if spend("act", "a", most=most, per=per, now=now):
            granted.append(now)
        # A refusal is never for want of patience: after the whole time there is one again.
        elif granted:
            assert now - granted[-1] < per
    for first in range(len(granted)):
        for last in range(first, len(granted)):
            ran_in = most * ((granted[last] - granted[first]) / per)
            assert last - first + 1 <= most + ran_in + 1e-6


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_of_many_at_once_only_so_many_get_one() -> None:
    got = all_at_once(16, lambda _: spend("act", "a", most=5, per=HOUR, now=NOON))
    assert got.count(True) == 5, got
    assert got.count(False) == 11, got
    assert Allowance.objects.count() == 1
