"""What the Coordinate page says of the week: drafts that wait, too much for one, the unseen."""

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest

from lifecycle.models import HandOver, Person
from lifecycle.records.work.week import draft
from tests.conftest import World
from tests.factories import NOON
from tests.records.weeks import DAY, TODAY, a_free_task, a_worker, held_by
from tests.web.test_coordinate import SignIn


@pytest.fixture
def text(world: World, as_person: SignIn) -> Callable[[], str]:
    client = as_person(world.coordinator)
    return lambda: client.get(f"{world.address}coordinate").content.decode()


def has(world: World, person: Person, number: int) -> None:
    for _ in range(number):
        held_by(person, a_free_task(world))


def test_the_week_is_one_tap_away(world: World, text: Callable[[], str]) -> None:
    assert f'href="{world.address}week">Share out the week’s work</a>' in text()


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (0, ""),
        (1, "1 draft of this week’s work is not published yet"),
        (3, "3 drafts of this week’s work are not published yet"),
    ],
)
def test_drafts_that_wait(world: World, text: Callable[[], str], number: int, words: str) -> None:
    tasks = [a_free_task(world).pk for _ in range(3)]
    if number:
        draft(world.coordinator, tasks[:number], world.member.person, now=NOON)
    assert words in text()
    assert ("not published yet" in text()) is bool(number)


@pytest.mark.parametrize(
    ("most", "second", "words"),
    [
        (9, 4, "Member has 9 things this week, nobody else over 4"),
        (6, 0, "Member has 6 things this week, nobody else any"),
        (6, 4, ""),
        (5, 0, ""),
    ],
)
def test_one_with_much_more_than_others(
    world: World, text: Callable[[], str], most: int, second: int, words: str
) -> None:
    has(world, world.member.person, most)
    has(world, world.owner.person, second)
    assert words in text()
    assert ("nobody else" in text()) is bool(words)


def seen(world: World, name: str, days: int) -> Person:
    return a_worker(world, name, person__last_seen_on=TODAY - days * DAY).person


def test_who_has_work_and_was_not_here(world: World, text: Callable[[], str]) -> None:
    has(world, seen(world, "Bram", 15), 2)
    has(world, seen(world, "Cleo", 14), 1)
    seen(world, "Dara", 90)
    page = text()
    assert "Bram has 2 things this week, and was last here on 29 September" in page
    assert "Cleo has" not in page
    assert "Dara has" not in page


def test_many_unseen_are_counted(world: World, text: Callable[[], str]) -> None:
    for number in range(5):
        has(world, seen(world, f"Away {number}", 30), 1)
    page = text()
    assert "Away 2 has 1 thing this week" in page
    assert "Away 3 has" not in page
    assert "2 more members with work this week not seen for two weeks" in page


def test_hand_overs_without_an_answer(world: World, text: Callable[[], str]) -> None:
    for number in range(5):
        HandOver.objects.create(
            garden=world.garden,
            uuid=uuid4(),
            by=world.owner.person,
            to=world.member.person,
            from_day=TODAY,
            made_at=NOON - timedelta(7 + number),
        )
    page = text()
    assert "Member has not answered Owner’s hand-over since 3 October" in page
    assert page.count("has not answered") == 3
    assert "2 more hand-overs without an answer" in page
    HandOver.objects.update(made_at=NOON - timedelta(6))
    assert "without an answer" not in text()
