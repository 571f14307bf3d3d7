"""A cold spell at four sites with sixty members: nobody is interrupted more often than agreed.

`benchmarks/alert_load.py` lives through a whole winter with the same people.
"""

from datetime import date, timedelta

import pytest

from lifecycle.models import Ask, FrostNight, Message, Person
from tests.reminders.cold_season import (
    Interruption,
    Season,
    by_month,
    interruptions,
    most_in_a_day,
)
from tests.reminders.frost_nights import clock

pytestmark = pytest.mark.django_db


def test_a_cold_spell_interrupts_nobody_twice_a_day_nor_in_quiet_hours() -> None:
    hour = timedelta(hours=1)
    Season(seed=7, first=date(2027, 1, 10), last=date(2027, 1, 12), step=hour).live()
    found = interruptions()
    assert Person.objects.count() == 60
    # The days were busy enough to try the rule.
    assert FrostNight.objects.filter(called_at__isnull=False).count() >= 4
    assert Ask.objects.count() >= 10
    assert Message.objects.filter(about="frost_ladder_end", channel="email").exists()
    assert most_in_a_day(found) == 1
    assert {each.level for each in found if each.quiet} <= {"act_now"}
    assert max(by_month(found)["2027-01"].values()) <= 2


def test_the_count_itself_sees_two_in_a_day_and_quiet_hours() -> None:
    twice = [Interruption(1, clock(14), "act_today"), Interruption(1, clock(23), "act_now")]
    assert most_in_a_day(twice) == 2
    assert most_in_a_day([*twice[:1], Interruption(2, clock(15), "act_today")]) == 1
    assert [each.quiet for each in twice] == [False, True]
    assert by_month(twice) == {"2026-10": {1: 2}}
