"""Two coordinators, one week: published at the same moment it is published once."""

import pytest

from lifecycle.models import Message, Publication, PublishedTask, Task, TaskEvent, WorkDraft
from lifecycle.records.work.tasks import take
from lifecycle.records.work.week import draft, propose
from lifecycle.records.work.week_publishing import Published
from lifecycle.reminders.work.publishing import publish_and_tell
from tests.conftest import World
from tests.factories import NOON
from tests.records.threads import all_at_once
from tests.records.weeks import a_chore_task, a_free_task

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
MANY = 12


@pytest.fixture
def world(transactional_db: None, world: World) -> World:
    return world


def test_published_by_twelve_at_once_it_is_published_once(world: World) -> None:
    tasks = [a_free_task(world).pk for _ in range(6)]
    draft(world.coordinator, tasks[:3], world.member.person, now=NOON)
    draft(world.coordinator, tasks[3:], world.owner.person, now=NOON)
    actors = (world.coordinator, world.owner)
    made = all_at_once(MANY, lambda index: publish_and_tell(actors[index % 2], now=NOON))
    assert all(isinstance(each, Published) for each in made), made
    assert sum(each.publication is not None for each in made) == 1
    assert Publication.objects.count() == 1
    assert PublishedTask.objects.count() == TaskEvent.objects.count() == 6
    inboxes = Message.objects.filter(channel="inbox").values_list("person", flat=True)
    assert sorted(inboxes) == sorted([world.member.person_id, world.owner.person_id])


def test_proposed_by_twelve_at_once_there_is_one_draft_a_task(world: World) -> None:
    for _ in range(6):
        a_chore_task(world)
    made = all_at_once(MANY, lambda _: propose(world.coordinator, now=NOON))
    assert not [each for each in made if isinstance(each, Exception)]
    assert WorkDraft.objects.count() == 6


def test_a_task_is_drafted_taken_and_published_in_any_order_and_has_one_person(
    world: World,
) -> None:
    task = a_free_task(world)
    draft(world.coordinator, [task.pk], world.owner.person, now=NOON)

    def act(index: int) -> object:
        if index % 3 == 0:
            return take(world.member, task, now=NOON)
        if index % 3 == 1:
            return draft(world.coordinator, [task.pk], world.owner.person, now=NOON)
        return publish_and_tell(world.coordinator, now=NOON)

    all_at_once(MANY, act)
    task.refresh_from_db()
    given = PublishedTask.objects.filter(task=task).count()
    assert task.assignee in (world.member.person, world.owner.person)
    assert given <= 2
    assert Task.objects.filter(pk=task.pk, assignee=world.owner.person).exists() is (
        TaskEvent.objects.filter(task=task).latest("pk").act == "given"
    )
