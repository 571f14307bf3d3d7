"""A fair proposal and its sentences."""

import pytest

from lifecycle.models import Membership, Task
from lifecycle.records.work.fair_shares import Shares, fair_shares, share_words, to_be_shared
from lifecycle.records.work.week import draft, propose
from lifecycle.records.work.week_work import Week, week_of
from tests.conftest import World
from tests.factories import NOON
from tests.records.weeks import DAY, TODAY, a_chore_task, a_free_task, a_worker, held_by, is_away


@pytest.fixture
def alone(world: World) -> World:
    """Return the world with its coordinator as the only one who may do tasks."""
    Membership.objects.filter(pk__in=[world.owner.pk, world.member.pk]).update(left_on=TODAY)
    return world


def proposal(world: World) -> tuple[Week, Shares]:
    week = week_of(world.garden, now=NOON)
    return week, fair_shares(week, to_be_shared(week))


def given(shares: Shares) -> dict[str, int]:
    return {piece.tasks[0].chore.title: who for piece, who in shares.given if piece.tasks[0].chore}


def test_what_nobody_has_is_shared_as_evenly_as_can_be(world: World) -> None:
    for minutes in (90, 30, 30, 30, 30):
        a_chore_task(world, minutes=minutes)
    _, shares = proposal(world)
    assert (shares.heaviest, len(shares.given), shares.unfit) == (90, 5, ())
    assert shares.whole == (
        "The heaviest share is 90 minutes; it cannot be smaller, because one piece of work takes "
        "90 minutes and one person does it."
    )


def test_what_people_have_counts_and_stays(world: World) -> None:
    held_by(world.member.person, a_free_task(world))
    for _ in range(5):
        a_chore_task(world, minutes=15)
    _, shares = proposal(world)
    takers = [who for _, who in shares.given]
    assert sorted(map(takers.count, {*takers})) == [1, 2, 2]
    assert takers.count(world.member.person_id) == 1
    assert shares.whole == (
        "The heaviest share is 30 minutes; it cannot be smaller: the work is shared as evenly as "
        "whole pieces allow."
    )


def test_skills_days_away_and_offered_minutes_are_heeded(alone: World) -> None:
    ana = a_worker(alone, "Ana", skills=["ladder"], minutes_a_week=60)
    a_chore_task(alone, "Gutter", skill="ladder", minutes=40)
    a_chore_task(alone, "Paths", minutes=50)
    _, shares = proposal(alone)
    assert given(shares) == {"Gutter": ana.person_id, "Paths": alone.coordinator.person_id}
    is_away(ana, TODAY, TODAY + 6 * DAY)
    _, shares = proposal(alone)
    assert [each.why for each in shares.unfit] == ["everybody who can is away on its days"]


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"skill": "sprayer"}, "nobody named spraying as something they do"),
        ({"minutes": 400}, "it takes about 400 minutes, and nobody who can has so many left"),
    ],
)
def test_why_nobody_can(alone: World, more: dict[str, object], why: str) -> None:
    Membership.objects.filter(pk=alone.coordinator.pk).update(minutes_a_week=120)
    a_chore_task(alone, **more)
    _, shares = proposal(alone)
    assert [each.why for each in shares.unfit] == [why]
    assert (shares.given, shares.whole) == ((), "")


def test_whoever_did_it_last_gets_it_where_loads_are_alike(world: World) -> None:
    task = a_chore_task(world, "Compost")
    assert task.chore is not None
    for other in ("Paths", "Tools"):
        a_chore_task(world, other)
    for person in (world.member, world.owner):
        Task.objects.filter(chore__title="Tools", state="done").delete()
        Task.objects.create(
            garden=world.garden, site=world.site, chore=task.chore, kind=Task.CHORE,
            growing_year=2025, number=1, earliest=TODAY, best=TODAY, latest=TODAY,
            counts_from=TODAY, reason="", source="", made_at=NOON, state="done",
            closed_by=person.person, closed_at=NOON - DAY,
        )  # fmt: skip
        _, shares = proposal(world)
        assert given(shares)["Compost"] == person.person_id
        Task.objects.filter(state="done").delete()


def test_one_alone_with_a_skill_is_why(world: World) -> None:
    ana = a_worker(world, "Ana", skills=["ladder"])
    for _ in range(3):
        a_chore_task(world, skill="ladder", minutes=30)
    a_chore_task(world, minutes=10)
    _, shares = proposal(world)
    assert shares.whole == (
        "The heaviest share is 90 minutes; it cannot be smaller, because so much falls to Ana "
        "alone."
    )
    propose(world.coordinator, now=NOON)
    week = week_of(world.garden, now=NOON)
    assert share_words(week, week.workers[ana.person_id]) == (
        "3 things, about 90 minutes; the only one for ladder work."
    )


def test_two_with_a_skill_are_why(world: World) -> None:
    for name in ("Ana", "Bram"):
        a_worker(world, name, skills=["sprayer"])
    for _ in range(4):
        a_chore_task(world, skill="sprayer", minutes=30)
    a_chore_task(world, minutes=10)
    _, shares = proposal(world)
    assert shares.whole.endswith("because only Ana and Bram can do what asks for spraying.")


def test_few_on_the_days_of_the_work_are_why(world: World) -> None:
    for member in (world.owner, world.member):
        is_away(member, TODAY, TODAY)
    for _ in range(3):
        a_chore_task(world, minutes=30, latest=TODAY)
    a_worker(world, "Ana")
    _, shares = proposal(world)
    assert shares.whole == (
        "The heaviest share is 60 minutes; it cannot be smaller, because 90 minutes fall to Ana "
        "and Coordinator alone."
    )


def test_whoever_had_more_already_is_named(world: World) -> None:
    held_by(world.member.person, a_free_task(world, "lift"))
    held_by(world.member.person, a_free_task(world, "repot"))
    for _ in range(4):
        a_chore_task(world, minutes=30)
    _, shares = proposal(world)
    assert shares.heavier == {world.member.person_id}
    assert shares.whole == (
        "Beside Member, who has 70 already, the heaviest share is 60 minutes; it cannot be "
        "smaller: the work is shared as evenly as whole pieces allow."
    )


def test_whoever_had_more_is_named_beside_every_reason(alone: World) -> None:
    ilse, amadi = a_worker(alone, "Ilse"), a_worker(alone, "Amadi")
    for member, minutes in ((ilse, 230), (amadi, 140)):
        a_chore_task(alone, minutes=minutes, assignee=member.person)
    a_chore_task(alone, minutes=60)
    _, shares = proposal(alone)
    assert shares.whole == (
        "Beside Amadi with 140 and Ilse with 230 already, the heaviest share is 60 minutes; it "
        "cannot be smaller, because one piece of work takes 60 minutes and one person does it."
    )
    for name in ("Bram", "Cleo", "Dara"):
        a_chore_task(alone, minutes=90, assignee=a_worker(alone, name).person)
    _, shares = proposal(alone)
    assert shares.whole.startswith("Beside 5 people who have 90 or more already, the heaviest")


def test_one_piece_on_top_of_what_people_have_is_why(alone: World) -> None:
    ana = a_worker(alone, "Ana")
    for person in (ana.person, alone.coordinator.person):
        a_chore_task(alone, minutes=30, assignee=person)
    a_chore_task(alone, minutes=60)
    _, shares = proposal(alone)
    assert shares.whole == (
        "The heaviest share is 90 minutes; it cannot be smaller, because one piece takes 60 "
        "minutes, and everybody who can has 30 or more already."
    )


def test_nobody_is_named_for_what_only_whole_pieces_make_so(alone: World) -> None:
    amadi = a_worker(alone, "Amadi")
    a_worker(alone, "Ana", skills=["ladder"])
    a_worker(alone, "Bram", skills=["ladder"])
    is_away(alone.coordinator, TODAY, TODAY + 6 * DAY)
    a_chore_task(alone, minutes=140, assignee=amadi.person)
    a_chore_task(alone, minutes=35, skill="ladder")
    for minutes in (75, 85, 85):
        a_chore_task(alone, minutes=minutes)
    _, shares = proposal(alone)
    assert shares.whole == (
        "The heaviest share is 160 minutes; it cannot be smaller: no other way of giving out "
        "these pieces is more even."
    )


def test_only_what_nobody_decided_on_is_given_out(world: World) -> None:
    free, by_hand, left, held = (a_free_task(world) for _ in range(4))
    held_by(world.member.person, held)
    draft(world.coordinator, [by_hand.pk], world.owner.person, now=NOON)
    draft(world.coordinator, [left.pk], None, now=NOON)
    week = week_of(world.garden, now=NOON)
    assert [piece.tasks[0] for piece in to_be_shared(week)] == [free]
    ticked = [piece.key for piece in week.pieces if piece.minder is not None]
    assert {piece.tasks[0] for piece in to_be_shared(week, ticked)} == {free, held}


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (0, 0, "Nothing this week; away Wednesday."),
        (1, 2, "Nothing this week; away Thursday and Friday."),
        (2, 5, "Nothing this week; away Friday to Monday."),
        (-3, 20, "Nothing this week; away all week."),
        (-3, -1, "Nothing this week."),
        (7, 9, "Nothing this week."),
    ],
)
def test_days_away_in_words(world: World, first: int, last: int, words: str) -> None:
    is_away(world.member, TODAY + first * DAY, TODAY + last * DAY)
    week = week_of(world.garden, now=NOON)
    assert share_words(week, week.workers[world.member.person_id]) == words


def test_offered_minutes_in_words(world: World) -> None:
    Membership.objects.filter(pk=world.member.pk).update(minutes_a_week=90)
    held_by(world.member.person, a_free_task(world))
    week = week_of(world.garden, now=NOON)
    assert share_words(week, week.workers[world.member.person_id]) == (
        "1 thing, about 15 minutes; offers 90 a week."
    )
