"""Days away: tasks pass to who covers, and come back."""

from datetime import date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import Away, Membership, Task
from lifecycle.records.nights.rota import on_call
from lifecycle.records.refusal import Refused
from lifecycle.records.work.away import (
    agree,
    ask_to_cover,
    away_on,
    come_back,
    go_away,
    say_no,
)
from lifecycle.records.work.cover import back_from, cover_all
from lifecycle.records.work.tasks import cannot_do, give, take
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.works import TODAY, covered
from tests.reminders.frost_nights import a_turn

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def ana(world: World) -> Membership:
    return MembershipFactory(garden=world.garden, person__name="Ana")


def due(world: World, kind: str, best: date, **more: object) -> Task:
    return a_task(world.plant, kind, earliest=best, best=best, latest=best + 5 * DAY, **more)


def who(task: Task) -> str | None:
    task.refresh_from_db()
    return str(task.assignee) if task.assignee else None


def acts(task: Task) -> list[str]:
    return [event.act for event in task.events.all()]


def tick(day: date) -> int:
    return cover_all(now=datetime.combine(day, NOON.timetz()))


def test_work_of_these_days_goes_to_who_covers_and_comes_back(
    world: World, ana: Membership
) -> None:
    now, later, after = (
        due(world, "lift", TODAY),
        due(world, "mulch", TODAY + 3 * DAY),
        due(world, "cut_back", TODAY + 4 * DAY),
    )
    covered(world.member, ana, TODAY, TODAY + 3 * DAY)
    assert [who(task) for task in (now, later, after)] == ["Ana", "Ana", None]
    new = due(world, "shade", TODAY + 2 * DAY)
    assert (tick(TODAY + DAY), tick(TODAY + DAY)) == (1, 0)
    assert who(new) == "Ana"
    cannot_do(ana, now, "Dead", now=NOON)
    assert (tick(TODAY + 4 * DAY), tick(TODAY + 5 * DAY)) == (2, 0)
    assert [who(task) for task in (now, later, new)] == ["Ana", None, None]
    assert acts(later) == ["covered", "given_back"]


def test_what_one_had_taken_comes_back_by_name(world: World, ana: Membership) -> None:
    orphan = a_task(a_plant(world.owner, world.bed, holder=None), "lift", best=TODAY)
    take(world.member, orphan, now=NOON)
    covered(world.member, ana, TODAY, TODAY)
    assert who(orphan) == "Ana"
    tick(TODAY + DAY)
    assert who(orphan) == "Member"


def test_what_changed_hands_meanwhile_stays_there(world: World, ana: Membership) -> None:
    task = due(world, "lift", TODAY)
    covered(world.member, ana, TODAY, TODAY + DAY)
    give(world.coordinator, task, world.owner.person, now=NOON)
    assert tick(TODAY + DAY) == 0
    tick(TODAY + 2 * DAY)
    assert who(task) == "Owner"


def test_a_late_tick_does_what_the_missed_ones_would(world: World, ana: Membership) -> None:
    task = due(world, "lift", TODAY + 2 * DAY)
    covered(world.member, ana, TODAY + DAY, TODAY + 3 * DAY)
    assert who(task) is None
    tick(TODAY + 3 * DAY)
    assert who(task) == "Ana"
    tick(TODAY + 30 * DAY)
    assert who(task) is None


def test_nothing_moves_before_the_cover_agrees(world: World, ana: Membership) -> None:
    task = due(world, "lift", TODAY)
    away = go_away(world.member, first_day=TODAY, last_day=TODAY, cover=ana.person, now=NOON)
    assert tick(TODAY) == 0
    with pytest.raises(Refused, match="not asked to cover"):
        agree(world.owner, away, now=NOON)
    agree(ana, away, now=NOON)
    agree(ana, away, now=NOON)
    assert who(task) == "Ana"
    say_no(ana, away, now=NOON)
    assert who(task) is None
    ask_to_cover(world.member, away, world.owner.person, now=NOON)
    agree(world.owner, Away.objects.get(), now=NOON)
    assert who(task) == "Owner"


def test_coming_back_early_ends_it(world: World, ana: Membership) -> None:
    task = due(world, "lift", TODAY)
    away = covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    with pytest.raises(PermissionDenied):
        come_back(ana, away, now=NOON)
    come_back(world.member, away, now=NOON)
    assert who(task) is None
    assert not Away.objects.exists()
    begun = covered(world.member, ana, TODAY, TODAY + 5 * DAY)
    come_back(world.coordinator, begun, now=NOON + 2 * DAY)
    assert Away.objects.get().last_day == TODAY + DAY
    with pytest.raises(Refused, match="taken back meanwhile"):
        come_back(world.member, away, now=NOON)


def test_who_left_the_garden_covers_nobody(world: World, ana: Membership) -> None:
    task = due(world, "lift", TODAY + DAY)
    covered(world.member, ana, TODAY + DAY, TODAY + DAY)
    Membership.objects.filter(pk=ana.pk).update(left_on=TODAY)
    assert tick(TODAY + DAY) == 0
    assert who(task) is None
    assert back_from(world.garden.pk, now=NOON) == 0


def test_days_and_covers_that_cannot_be(world: World, ana: Membership) -> None:
    def go(first: date, last: date, **more: object) -> Away:
        return go_away(world.member, first_day=first, last_day=last, now=NOON, **more)

    for first, last in (
        (TODAY, TODAY - DAY),
        (TODAY - 3 * DAY, TODAY - DAY),
        (TODAY, TODAY + 400 * DAY),
        (TODAY + 401 * DAY, TODAY + 402 * DAY),
    ):
        with pytest.raises(Refused):
            go(first, last)
    go(TODAY, TODAY + 3 * DAY)
    with pytest.raises(Refused, match="Member is away from 14 to 17 October already"):
        go(TODAY + 3 * DAY, TODAY + 9 * DAY)
    for cover, said in (
        (world.member.person, "covers for themselves"),
        (world.committee.person, "here to read"),
        (world.outsider, "not a member"),
    ):
        with pytest.raises(Refused, match=said):
            go(TODAY + 5 * DAY, TODAY + 9 * DAY, cover=cover)
    go_away(ana, first_day=TODAY + 9 * DAY, last_day=TODAY + 9 * DAY, now=NOON)
    with pytest.raises(Refused, match="Ana is away on some of these days"):
        go(TODAY + 5 * DAY, TODAY + 9 * DAY, cover=ana.person)


def test_only_who_coordinates_enters_days_for_others(world: World, ana: Membership) -> None:
    given = {"first_day": TODAY, "last_day": TODAY, "now": NOON}
    with pytest.raises(PermissionDenied):
        go_away(world.member, person=ana.person, **given)
    with pytest.raises(PermissionDenied):
        go_away(world.committee, **given)
    assert go_away(world.coordinator, person=ana.person, **given).person == ana.person
    with pytest.raises(Refused, match="not a member"):
        go_away(world.coordinator, person=world.outsider, **given)


def test_who_is_away_on_some_days(world: World, ana: Membership) -> None:
    go_away(world.member, first_day=TODAY, last_day=TODAY + 9 * DAY, now=NOON)
    go_away(ana, first_day=TODAY + 20 * DAY, last_day=TODAY + 21 * DAY, now=NOON)
    found = away_on(world.garden.pk, TODAY + 5 * DAY, TODAY + 12 * DAY)
    assert found == {world.member.person_id: [(TODAY + 5 * DAY, TODAY + 9 * DAY)]}


def test_nobody_away_is_on_call(world: World, ana: Membership) -> None:
    a_turn(world.site, world.member.person)
    a_turn(world.site, ana.person)
    go_away(world.member, first_day=TODAY, last_day=TODAY, now=NOON)
    assert [turn.person for turn in on_call(world.site, TODAY)] == [ana.person]
