"""A calendar read by several programs at once counts each change once."""

from datetime import timedelta

import pytest

from lifecycle.models import CalendarAddress, CalendarItem, Task
from lifecycle.records.messages.calendar import end_address, new_address
from lifecycle.reminders.messages.calendar_feed import feed
from tests.conftest import World
from tests.factories import NOON, a_plant, a_task
from tests.records.threads import all_at_once

READERS = 4


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_readers_at_once_see_the_same_and_count_once(world: World) -> None:
    for n in range(3):
        a_task(a_plant(world.member, world.bed, name=f"Plant {n}"), "lift")
    address = new_address(world.member.person, now=NOON)

    def read_by_all() -> set[bytes | Exception]:
        return set(all_at_once(READERS, lambda _: feed(address, now=NOON)))

    assert len(read_by_all()) == 1
    [item] = CalendarItem.objects.all()
    assert item.sequence == 0
    Task.objects.update(best=NOON.date() + timedelta(1))
    assert len(read_by_all()) == 1
    item.refresh_from_db()
    assert item.sequence == 1


@pytest.mark.django_db
def test_an_ended_address_publishes_nothing(world: World) -> None:
    address = new_address(world.member.person, now=NOON)
    new_address(world.member.person, now=NOON)
    with pytest.raises(CalendarAddress.DoesNotExist):
        feed(address, now=NOON)
    end_address(world.member.person)
    with pytest.raises(CalendarAddress.DoesNotExist):
        feed(address, now=NOON)


@pytest.mark.django_db
def test_a_new_address_goes_on_where_the_old_one_was(world: World) -> None:
    """A program that follows the new address finds the same events under the same names."""
    a_task(world.plant, "lift")
    first = feed(new_address(world.member.person, now=NOON), now=NOON)
    assert feed(new_address(world.member.person, now=NOON), now=NOON) == first
