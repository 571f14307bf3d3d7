"""Covers who are away, decline, leave; hand-overs meanwhile; tasks opened again after leaving."""

from datetime import datetime

import pytest

from lifecycle.life.kinds import Kind
from lifecycle.models import Away, Membership, Message, Task
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log, strike
from lifecycle.records.people.handing import accept
from lifecycle.records.people.handing_load import Load
from lifecycle.records.people.leaving import leave
from lifecycle.records.people.memberships import change_role
from lifecycle.records.refusal import Refused
from lifecycle.records.work.away import agree, ask_to_cover, come_back, go_away, say_no
from lifecycle.records.work.cover import cover_all
from lifecycle.records.work.tasks import cannot_do, decline, give, give_back, reopen, take
from lifecycle.reminders.people.handing import hand_over_all
from lifecycle.reminders.people.leaving import leaving_all
from lifecycle.reminders.work.cover_words import tell_agreed, tell_cover
from lifecycle.web.work.task_history import sentence_of
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.handings import proposed
from tests.records.works import TODAY, a_chore, a_chore_task, covered
from tests.reminders.climates import DAY, HOUR

pytestmark = pytest.mark.django_db


@pytest.fixture
def ana(world: World) -> Membership:
    return MembershipFactory(garden=world.garden, person__name="Ana")


@pytest.fixture
def bea(world: World) -> Membership:
    return MembershipFactory(garden=world.garden, person__name="Bea")


def after(days: int) -> datetime:
    return NOON + days * DAY


def held(world: World) -> Task:
    """Return a task that the world's member minds as the holder of its plant."""
    best = TODAY + 2 * DAY
    return a_task(world.plant, "lift", earliest=best, best=best, latest=best + 9 * DAY)


def taken(world: World) -> Task:
    """Return a chore's task that the world's member took."""
    task = a_chore_task(a_chore(world), TODAY + 2 * DAY, latest=TODAY + 20 * DAY)
    return take(world.member, task, now=NOON)


def who(task: Task) -> str | None:
    task.refresh_from_db()
    return str(task.assignee) if task.assignee else None


def walk(tasks: list[Task], days: range) -> list[tuple[str | None, ...]]:
    seen = []
    for number in days:
        cover_all(now=after(number))
        seen.append(tuple(who(task) for task in tasks))
    return seen


def test_a_cover_who_is_away_too_gets_it_back_and_gives_it_back(
    world: World, ana: Membership, bea: Membership
) -> None:
    tasks = [held(world), taken(world)]
    covered(world.member, ana, TODAY, TODAY + 9 * DAY)
    covered(ana, bea, TODAY + DAY, TODAY + 4 * DAY)
    seen = walk(tasks, range(13))
    assert (
        seen
        == [("Ana", "Ana")] + [("Bea", "Bea")] * 4 + [("Ana", "Ana")] * 5 + [(None, "Member")] * 3
    )


def test_who_is_back_first_has_it_first(world: World, ana: Membership, bea: Membership) -> None:
    tasks = [held(world), taken(world)]
    covered(world.member, ana, TODAY, TODAY + 3 * DAY)
    covered(ana, bea, TODAY + DAY, TODAY + 6 * DAY)
    seen = walk(tasks, range(9))
    assert seen == [("Ana", "Ana")] + [("Bea", "Bea")] * 3 + [(None, "Member")] * 5


def test_a_cover_may_decline_what_was_passed_on(world: World, ana: Membership) -> None:
    tasks = [held(world), taken(world), held_too(world)]
    covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    assert [who(task) for task in tasks] == ["Ana", "Ana", "Ana"]
    decline(ana, tasks[0], now=NOON + HOUR, why="cannot lift")
    give_back(world.coordinator, tasks[1], now=NOON + HOUR)
    give(world.coordinator, tasks[2], world.member.person, now=NOON + HOUR)
    assert walk(tasks, range(1, 3)) == [(None, None, "Member")] * 2
    new = a_task(world.plant, "mulch", best=TODAY + 3 * DAY, earliest=TODAY)
    give(world.coordinator, new, world.member.person, now=after(3))
    cover_all(now=after(3))
    assert who(new) == "Ana"


def held_too(world: World) -> Task:
    return a_task(a_plant(world.member, world.bed), "cut_back", best=TODAY + DAY, earliest=TODAY)


def test_what_was_decided_before_the_days_began_passes_on(world: World, ana: Membership) -> None:
    task = taken(world)
    covered(world.member, ana, TODAY + DAY, TODAY + 5 * DAY)
    decline(world.member, task, now=NOON + HOUR)
    give(world.coordinator, task, world.member.person, now=NOON + 2 * HOUR)
    cover_all(now=after(1))
    assert who(task) == "Ana"


def test_a_cover_who_agrees_anew_gets_it_anew(world: World, ana: Membership) -> None:
    task = held(world)
    away = covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    decline(ana, task, now=NOON + HOUR)
    say_no(ana, away, now=NOON + 2 * HOUR)
    ask_to_cover(world.member, away, ana.person, now=NOON + 3 * HOUR)
    agree(ana, away, now=NOON + 4 * HOUR)
    assert who(task) == "Ana"


def test_the_leaving_of_a_cover_gives_back_what_was_taken(world: World, ana: Membership) -> None:
    tasks = [held(world), taken(world)]
    covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    leave(ana, nameless=False, now=after(1))
    assert walk(tasks, range(1, 8)) == [(None, "Member")] * 7


def test_a_cover_who_only_reads_from_now_on_gives_it_back(world: World, ana: Membership) -> None:
    task = taken(world)
    covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    change_role(world.owner, ana, "committee", now=after(1))
    assert walk([task], range(1, 8)) == [("Member",)] * 7


def test_nothing_comes_back_to_who_left(world: World, ana: Membership, bea: Membership) -> None:
    task = taken(world)
    covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    Membership.objects.filter(pk=world.member.pk).update(left_on=TODAY)
    assert walk([task], range(6, 8)) == [(None,)] * 2
    said = [sentence_of(event, bea.person) for event in task.events.all()]
    assert said[-1] == "It was given back: who had it does no work here any more."
    take(bea, task, now=after(8))


def test_the_leaving_of_who_is_away_frees_what_was_theirs(
    world: World, ana: Membership, bea: Membership
) -> None:
    task = a_chore_task(a_chore(world), TODAY + DAY, latest=TODAY + 20 * DAY)
    take(ana, task, now=NOON)
    covered(ana, bea, TODAY, TODAY + 9 * DAY)
    leave(ana, nameless=False, now=after(1))
    assert walk([task], range(1, 3)) == [(None,)] * 2


@pytest.mark.parametrize("cover_closes", [False, True])
def test_what_cannot_be_done_opens_with_who_works_here(
    world: World, ana: Membership, cover_closes: bool
) -> None:
    task = taken(world)
    covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    gone = ana if cover_closes else world.member
    cannot_do(ana, task, "no key", now=NOON)
    leave(gone, nameless=True, now=after(1))
    reopen(world.coordinator, task, now=after(2))
    assert who(task) == ("Member" if cover_closes else None)


def test_a_struck_entry_opens_its_task_for_nobody_who_left(
    world: World, ana: Membership, bea: Membership
) -> None:
    plant = a_plant(world.member, world.bed, holder=None)
    task = take(ana, a_task(plant, "feed", latest=TODAY + 9 * DAY), now=NOON)
    entry = log(ana, plant, Draft(Kind.FED, TODAY, quantity=5.0), now=NOON).entry
    leave(ana, nameless=False, now=after(1))
    strike(world.coordinator, entry, "x", now=after(2))
    task.refresh_from_db()
    assert (task.state, task.assignee) == ("open", None)
    take(bea, task, now=after(2))


def test_what_is_stranded_all_the_same_is_freed_by_the_tick(world: World, ana: Membership) -> None:
    tasks = [taken(world), a_chore_task(a_chore(world, title="Rake"))]
    take(ana, tasks[1], now=NOON)
    covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    Membership.objects.filter(pk=ana.pk).update(left_on=TODAY)
    leaving_all(now=after(1))
    assert [who(task) for task in tasks] == ["Member", None]


def test_a_hand_over_takes_along_what_is_with_the_cover(
    world: World, ana: Membership, bea: Membership
) -> None:
    own = take(world.member, held(world), now=NOON)
    minded = held_too(world)
    elsewhere = taken(world)
    covered(world.member, ana, TODAY, TODAY + 3 * DAY)
    theirs = give(world.coordinator, a_task(world.plant, "mulch"), ana.person, now=NOON)
    load = Load(plants=[world.plant, minded.plant])
    hand_over = proposed(world, bea, load=load, from_day=TODAY + DAY)
    accept(bea, hand_over, now=NOON)
    hand_over_all(now=after(1))
    assert [who(task) for task in (own, minded, theirs, elsewhere)] == ["Bea", "Bea", "Ana", "Ana"]
    seen = walk([own, minded, theirs, elsewhere], range(1, 6))
    assert seen[-1] == ("Bea", "Bea", "Ana", "Member")


def test_who_is_asked_again_is_told_again(world: World, ana: Membership, bea: Membership) -> None:
    def told(about: str) -> int:
        return Message.objects.filter(about=about, channel="email").count()

    away = go_away(
        world.member, first_day=TODAY, last_day=TODAY + 9 * DAY, cover=ana.person, now=NOON
    )
    tell_cover(away, now=NOON)
    tell_cover(away, now=NOON + HOUR)
    assert told("cover") == 1
    hours = 1
    for number, cover in enumerate((bea, ana, bea), start=2):
        away = ask_to_cover(world.member, away, cover.person, now=NOON + hours * HOUR)
        again = ask_to_cover(world.member, away, cover.person, now=NOON + (hours + 1) * HOUR)
        for each in (away, again):
            tell_cover(each, now=NOON + (hours + 1) * HOUR)
        assert told("cover") == number
        away = say_no(cover, again, now=NOON + (hours + 2) * HOUR)
        tell_agreed(away, cover.person, now=NOON + (hours + 2) * HOUR)
        assert told("cover_answer") == number - 1
        hours += 3


def test_who_left_meanwhile_neither_agrees_nor_asks(world: World, ana: Membership) -> None:
    away = go_away(world.member, first_day=TODAY, last_day=TODAY, cover=ana.person, now=NOON)
    Membership.objects.filter(pk=ana.pk).update(left_on=TODAY)
    for verb in (agree, say_no, come_back):
        with pytest.raises(Refused, match="do not belong to this garden"):
            verb(ana, away, now=NOON)
    with pytest.raises(Refused, match="do not belong to this garden"):
        go_away(ana, first_day=TODAY, last_day=TODAY, now=NOON)
    assert Away.objects.get().cover_agreed_at is None
