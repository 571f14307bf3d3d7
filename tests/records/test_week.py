"""The week's work drafted and published: once, whole, whatever happened meanwhile."""

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import (
    Membership,
    Publication,
    PublishedTask,
    Task,
    TaskEvent,
    TaskOffer,
    WorkDraft,
)
from lifecycle.records.refusal import Refused
from lifecycle.records.work.tasks import take
from lifecycle.records.work.week import draft, drop, propose
from lifecycle.records.work.week_publishing import publish
from lifecycle.records.work.week_work import week_of
from tests.conftest import World
from tests.factories import NOON
from tests.records.weeks import DAY, TODAY, a_chore_task, a_free_task, a_worker, held_by

LATER = NOON.replace(hour=13)


def drafts() -> dict[int, int | None]:
    return dict(WorkDraft.objects.values_list("task", "to"))


def test_a_draft_changes_nothing_but_itself(world: World) -> None:
    task = a_free_task(world)
    assert draft(world.coordinator, [task.pk], world.member.person, now=NOON) == 1
    task.refresh_from_db()
    assert task.assignee is None
    assert TaskEvent.objects.count() == 0
    assert drafts() == {task.pk: world.member.person_id}
    draft(world.owner, [task.pk], world.owner.person, now=NOON)
    assert drafts() == {task.pk: world.owner.person_id}
    draft(world.owner, [task.pk], None, now=NOON)
    assert drafts() == {task.pk: None}
    assert drop(world.owner) == 1
    assert drafts() == {}


def test_what_somebody_has_already_needs_no_draft(world: World) -> None:
    task = a_free_task(world)
    held_by(world.member.person, task)
    draft(world.coordinator, [task.pk], world.owner.person, now=NOON)
    draft(world.coordinator, [task.pk], world.member.person, now=NOON)
    assert drafts() == {}


def test_some_drafts_are_taken_back(world: World) -> None:
    one, other = a_free_task(world), a_free_task(world)
    draft(world.coordinator, [one.pk, other.pk], world.member.person, now=NOON)
    assert drop(world.coordinator, [one.pk]) == 1
    assert drafts() == {other.pk: world.member.person_id}


@pytest.mark.parametrize("who", ["member", "committee"])
def test_only_who_leads_may(world: World, who: str) -> None:
    actor, task = getattr(world, who), a_free_task(world)
    for verb in (
        lambda: draft(actor, [task.pk], world.member.person, now=NOON),
        lambda: drop(actor),
        lambda: propose(actor, now=NOON),
        lambda: publish(actor, now=NOON),
    ):
        with pytest.raises(PermissionDenied):
            verb()


def test_drafts_go_to_members_who_may_do_tasks(world: World) -> None:
    task = a_free_task(world)
    for person, sentence in (
        (world.outsider, "is not a member of this garden"),
        (world.committee.person, "is here to read, not to do tasks"),
    ):
        with pytest.raises(Refused, match=sentence):
            draft(world.coordinator, [task.pk], person, now=NOON)
    with pytest.raises(Refused, match="Tick at least one piece"):
        draft(world.coordinator, [], world.member.person, now=NOON)
    Task.objects.filter(pk=task.pk).update(state="done")
    with pytest.raises(Refused, match="All of it was done or withdrawn"):
        draft(world.coordinator, [task.pk], world.member.person, now=NOON)


def test_a_task_of_another_garden_is_out_of_reach(world: World) -> None:
    elsewhere = Membership.objects.get(person=world.outsider)
    task = a_free_task(world)
    with pytest.raises(Refused, match="All of it was done or withdrawn"):
        draft(elsewhere, [task.pk], None, now=NOON)
    draft(world.coordinator, [task.pk], world.member.person, now=NOON)
    assert drop(elsewhere) == drop(elsewhere, [task.pk]) == 0
    assert publish(elsewhere, now=NOON).publication is None
    assert drafts() == {task.pk: world.member.person_id}


def test_a_proposal_is_drafted_and_anew_at_will(world: World) -> None:
    tasks = [a_chore_task(world) for _ in range(3)]
    shares = propose(world.coordinator, now=NOON)
    assert (shares.heaviest, len(shares.given)) == (30, 3)
    assert set(drafts().values()) == {
        each.person_id for each in (world.owner, world.coordinator, world.member)
    }
    assert set(WorkDraft.objects.values_list("proposed", flat=True)) == {True}
    before = drafts()
    propose(world.coordinator, now=NOON)
    assert drafts() == before
    # By hand goes before the proposal.
    draft(world.coordinator, [tasks[0].pk], world.member.person, now=NOON)
    propose(world.coordinator, now=NOON)
    assert drafts()[tasks[0].pk] == world.member.person_id
    assert len(set(drafts().values())) == 3


def test_ticked_work_is_shared_anew(world: World) -> None:
    held = [a_free_task(world, "feed") for _ in range(3)]
    for task in held:
        held_by(world.member.person, task)
    with pytest.raises(Refused, match="Everything of this week has somebody"):
        propose(world.coordinator, now=NOON)
    keys = [piece.key for piece in week_of(world.garden, now=NOON).pieces]
    propose(world.coordinator, keys, now=NOON)
    # One of the three stays where it is, and needs no draft.
    assert sorted(drafts().values()) == sorted([world.owner.person_id, world.coordinator.person_id])


def test_a_proposal_that_fits_nobody_any_more_is_taken_back(world: World) -> None:
    task = a_chore_task(world, skill="ladder")
    a_worker(world, "Ana", skills=["ladder"])
    propose(world.coordinator, now=NOON)
    assert len(drafts()) == 1
    Membership.objects.filter(person__name="Ana").update(skills=[])
    shares = propose(world.coordinator, now=NOON)
    assert [each.piece.tasks[0] for each in shares.unfit] == [task]
    assert drafts() == {}


def test_publishing_gives_writes_history_and_keeps_what_was(world: World) -> None:
    free, held = a_free_task(world), a_free_task(world)
    held_by(world.member.person, held)
    offer = TaskOffer.objects.create(
        garden=world.garden,
        task=held,
        by=world.member.person,
        to=world.coordinator.person,
        made_at=NOON,
    )
    draft(world.coordinator, [free.pk, held.pk], world.owner.person, now=NOON)
    made = publish(world.coordinator, now=LATER)
    assert made.publication is not None
    assert (made.publication.first_day, made.publication.last_day) == (TODAY, TODAY + 6 * DAY)
    assert {task.pk for task in made.given[world.owner.person_id]} == {free.pk, held.pk}
    assert [task.pk for task in made.gone[world.member.person_id]] == [held.pk]
    assert made.people == sorted([world.owner.person_id, world.member.person_id])
    assert dict(Task.objects.values_list("pk", "assignee")) == dict.fromkeys(
        (free.pk, held.pk), world.owner.person_id
    )
    events = TaskEvent.objects.values_list("task", "act", "by", "to", "at")
    assert set(events) == {
        (task.pk, "given", world.coordinator.person_id, world.owner.person_id, LATER)
        for task in (free, held)
    }
    rows = PublishedTask.objects.values_list("task", "to", "was")
    assert set(rows) == {
        (free.pk, world.owner.person_id, None),
        (held.pk, world.owner.person_id, world.member.person_id),
    }
    offer.refresh_from_db()
    assert offer.state == TaskOffer.State.PAST
    assert drafts() == {}


def test_publishing_twice_is_publishing_once(world: World) -> None:
    draft(world.coordinator, [a_free_task(world).pk], world.member.person, now=NOON)
    assert publish(world.coordinator, now=NOON).publication is not None
    again = publish(world.owner, now=NOON)
    assert (again.publication, again.people, again.left_out) == (None, [], [])
    assert Publication.objects.count() == 1


def test_given_to_nobody_goes_back_to_its_holder(world: World) -> None:
    held, free = a_free_task(world), a_free_task(world)
    held_by(world.member.person, held)
    Task.objects.filter(pk__in=[held.pk, free.pk]).update(assignee=world.owner.person)
    draft(world.coordinator, [held.pk, free.pk], None, now=NOON)
    made = publish(world.coordinator, now=NOON)
    assert [task.pk for task in made.given[world.member.person_id]] == [held.pk]
    assert {task.pk for task in made.gone[world.owner.person_id]} == {held.pk, free.pk}
    assert set(Task.objects.values_list("assignee", flat=True)) == {None}
    acts = set(TaskEvent.objects.values_list("act", "to"))
    assert acts == {("given_back", world.owner.person_id)}


def test_what_was_left_to_nobody_is_no_news(world: World) -> None:
    draft(world.coordinator, [a_free_task(world).pk], None, now=NOON)
    assert publish(world.coordinator, now=NOON).publication is None
    assert drafts() == {}


def test_what_happened_meanwhile_is_left_out_and_named(world: World) -> None:
    done, taken, left, given_back = (a_free_task(world) for _ in range(4))
    leaver = a_worker(world, "Leaver")
    draft(world.coordinator, [done.pk, taken.pk, given_back.pk], world.owner.person, now=NOON)
    draft(world.coordinator, [left.pk], leaver.person, now=NOON)
    Task.objects.filter(pk=done.pk).update(
        state="done", closed_at=NOON, closed_by=world.owner.person
    )
    take(world.member, taken, now=LATER)
    take(world.member, given_back, now=LATER)
    Task.objects.filter(pk=given_back.pk).update(assignee=None)
    Membership.objects.filter(pk=leaver.pk).update(left_on=TODAY)
    made = publish(world.coordinator, now=LATER)
    assert made.left_out == [
        f"Cut back: {done.plant}. Done by Owner at 12:00.",
        f"Cut back: {taken.plant}. Member has it since, and keeps it.",
        f"Cut back: {left.plant}. Leaver does not work in this garden any more.",
    ]
    assert [task.pk for task in made.given[world.owner.person_id]] == [given_back.pk]
    taken.refresh_from_db()
    assert taken.assignee == world.member.person
    assert drafts() == {}


def test_drafting_again_says_that_it_is_meant(world: World) -> None:
    task = a_free_task(world)
    draft(world.coordinator, [task.pk], world.owner.person, now=NOON)
    take(world.member, task, now=NOON)
    draft(world.coordinator, [task.pk], world.owner.person, now=LATER)
    assert publish(world.coordinator, now=LATER).left_out == []
    task.refresh_from_db()
    assert task.assignee == world.owner.person


def test_a_chore_left_out_is_named_by_its_title(world: World) -> None:
    task = a_chore_task(world, "Turn the compost")
    draft(world.coordinator, [task.pk], world.owner.person, now=NOON)
    Task.objects.filter(pk=task.pk).update(state="withdrawn", closed_why="It is winter.")
    assert publish(world.coordinator, now=LATER).left_out == ["Turn the compost. It is winter."]


def test_publishing_much_takes_few_queries(world: World, django_assert_max_num_queries) -> None:
    tasks = [a_free_task(world).pk for _ in range(30)]
    draft(world.coordinator, tasks, world.member.person, now=NOON)
    with django_assert_max_num_queries(20):
        publish(world.coordinator, now=NOON)
