"""A chore in messages, in the week ahead, in the calendar, and when nobody does it."""

from datetime import date, time
from uuid import uuid4

import pytest

from lifecycle.models import BedHolding, Message, Task
from lifecycle.records.work.doing import do_tasks
from lifecycle.reminders.messages.calendar_events import planned
from lifecycle.reminders.messages.digest_words import week
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.work.announce import announce_all
from lifecycle.reminders.work.escalation import escalate_all
from lifecycle.reminders.work.promotion import promote_all
from lifecycle.reminders.work.task_words import cautions_of, grouped, what_and_where
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.works import TODAY, a_chore, a_chore_task
from tests.reminders.climates import DAY, at

pytestmark = pytest.mark.django_db


@pytest.fixture
def task(world: World) -> Task:
    """Turn the compost in bed 3 on 14 October, taken by the member."""
    return a_chore_task(a_chore(world, place=world.bed), assignee=world.member.person)


def sent(person: object, about: str = "due") -> Message:
    dispatch_all(now=NOON)
    return Message.objects.get(person=person, about=about, channel="email")


def test_the_morning_message_tells_it(world: World, task: Task) -> None:
    announce_all(now=NOON)
    told = sent(world.member.person)
    assert told.subject == "Northfield: turn the compost by 14 October"
    assert "Turn the compost, Bed 3" in told.body
    assert "On 14 October." in told.body


def test_what_nobody_has_is_told_to_who_coordinates(world: World) -> None:
    a_chore_task(a_chore(world))
    announce_all(now=NOON)
    assert "turn the compost" in sent(world.coordinator.person).subject
    assert not Message.objects.filter(person=world.member.person).exists()


def test_a_chore_of_a_plant_is_its_holders(world: World) -> None:
    a_chore_task(a_chore(world, plant=world.plant, at_time=time(18), days_open=0))
    announce_all(now=NOON)
    told = sent(world.member.person)
    assert "Turn the compost: Cayenne by the gate, Bed 3" in told.body
    assert "On 14 October at 18:00." in told.body


def test_steps_and_chores_are_groups_of_their_own(world: World, task: Task) -> None:
    chore = task.chore
    assert chore is not None
    more = [a_chore_task(chore, TODAY + n * DAY) for n in (1, 2)]
    other = a_chore_task(a_chore(world, title="Rake", place=world.bed))
    step = a_task(world.plant, "lift")
    groups = grouped([step, other, task, *more])
    said = sorted(what_and_where(group) for group in groups)
    assert said == [
        "Lift: Cayenne by the gate, Bed 3",
        "Rake, Bed 3",
        "Turn the compost: 3 times, Bed 3",
    ]


def test_cautions_go_with_the_skill_and_the_list(world: World) -> None:
    chore = a_chore(world, skill="water")
    [caution] = cautions_of(a_chore_task(chore))
    assert caution.startswith("The water main:")


def test_the_week_ahead_lists_it(world: World, task: Task) -> None:
    message = Message(
        garden=world.garden, person=world.member.person, for_day=TODAY, key="w", about="week"
    )
    lines = [line.text for line in week(message, NOON).lines]
    assert "Turn the compost, Bed 3: by 14 October." in lines


def test_the_calendar_has_its_hours_on_the_sites_clock(world: World, task: Task) -> None:
    chore = a_chore(world, title="Open the gate", at_time=time(23, 45), how="Key in the shed.")
    a_chore_task(chore, assignee=world.member.person)
    whole, timed = sorted(planned(world.member.person, [], now=NOON), key=lambda each: each.zone)
    assert (whole.starts, whole.ends, whole.summary) == (
        "2026-10-14",
        "2026-10-15",
        "Turn the compost, Bed 3",
    )
    assert (timed.starts, timed.ends) == ("2026-10-14T23:45:00", "2026-10-15T00:15:00")
    assert timed.zone == world.site.time_zone
    assert "Key in the shed." in timed.description
    do_tasks(world.member, [task], form_id=uuid4(), now=NOON)
    known = [event.summary for event in planned(world.member.person, [], now=NOON)]
    assert "Done: Turn the compost" in known


def test_a_forecast_closes_no_chore(world: World, task: Task) -> None:
    assert promote_all(now=NOON) == 0


def test_neglected_it_is_offered_to_who_holds_the_place(world: World, task: Task) -> None:
    plot, neighbour = MembershipFactory(garden=world.garden), MembershipFactory(garden=world.garden)
    a_plant(neighbour, world.bed)
    BedHolding.objects.create(
        garden=world.garden, place=world.bed, person=plot.person, since=date(2026, 1, 1)
    )
    escalate_all(now=at(TODAY + 3 * DAY))
    asked = set(Message.objects.filter(about="offered").values_list("person", flat=True))
    assert asked == {plot.person_id, neighbour.person_id}
    dispatch_all(now=at(TODAY + 3 * DAY))
    told = Message.objects.get(about="offered", person=plot.person, channel="email")
    assert told.subject == "Northfield: would you take this on? Turn the compost"
    escalate_all(now=at(TODAY + 6 * DAY))
    assert [event.act for event in task.events.all()] == ["to_others", "raised"]


def test_a_chore_of_the_site_goes_to_who_holds_something_there(world: World) -> None:
    task = a_chore_task(a_chore(world))
    elsewhere = MembershipFactory(garden=world.garden)
    escalate_all(now=at(TODAY + 3 * DAY))
    asked = set(Message.objects.filter(about="offered").values_list("person", flat=True))
    assert asked == {world.member.person_id}
    assert elsewhere.person_id not in asked
    task.refresh_from_db()
    assert task.offered_on == TODAY + 3 * DAY


def test_a_step_that_stands_nowhere_has_no_neighbours(world: World) -> None:
    a_task(
        a_plant(world.member, world.bed), "cut_back", latest=TODAY - 9 * DAY, best=TODAY - 9 * DAY
    )
    Task.objects.update(plant=world.plant)
    type(world.plant).objects.update(place=None)
    a_plant(MembershipFactory(garden=world.garden), world.bed)
    a_chore_task(a_chore(world), TODAY)
    assert escalate_all(now=NOON) == 1
    assert not Message.objects.filter(about="offered").exists()
