"""Who does what: least heaviest load against brute force, and what must always hold."""

import time
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.sparse import coo_array

from lifecycle.agronomy.allocation import Allocation, allocate
from lifecycle.agronomy.allocation_exact import better_than, lowest
from lifecycle.agronomy.allocation_search import evened, longest_first
from lifecycle.agronomy.allocation_work import made_work
from tests.agronomy.made_up_weeks import MadeUpWeek, large_week, small_week

SMALL_WEEKS = 200


@pytest.mark.parametrize("seed", range(SMALL_WEEKS))
def test_the_heaviest_load_is_the_least_of_all_divisions(seed: int) -> None:
    week = small_week(seed)
    found = week.shared()
    left = sum(minutes for minutes, who in zip(week.minutes, found.who, strict=True) if who is None)
    assert (left, max(found.loads)) == week.best()
    assert found.gap == 0
    assert found.left_over_proven


@pytest.mark.parametrize("seed", range(SMALL_WEEKS))
def test_what_is_named_as_the_reason_makes_it_so_by_itself(seed: int) -> None:
    week = small_week(seed)
    found = week.shared()
    can = {who for who in range(len(week.has)) if who not in found.heavier}
    if found.pinch is not None:
        takers = can & set(week.takers(found.pinch))
        least = min(week.has[who] for who in takers) + week.minutes[found.pinch]
        assert least == found.heaviest
        assert not found.pinched
    if not found.pinched:
        assert not found.confined
        return
    for unit in found.confined:
        assert can & set(week.takers(unit)) <= set(found.pinched)
    by_themselves = week.part(found.confined, found.pinched)
    assert by_themselves.best() == (0, found.heaviest)


def test_a_bound_that_only_the_search_found_has_no_reason() -> None:
    # The first has 140 and gets nothing, but neither is it so by that: 280 for two could be 140
    # each if pieces could be cut, and the one piece that the first may not do is a small one.
    may = np.array([[False, True, True]] + [[True] * 3] * 3)
    found = shared([35, 75, 85, 85], 3, may=may, has=[140, 0, 0])
    assert (found.heaviest, found.gap, found.heavier) == (160, 0, ())
    assert (found.pinched, found.confined, found.pinch) == ((), (), None)


weeks = st.integers(0, 2**32 - 1).map(small_week)
garden_weeks = st.builds(
    large_week, st.integers(0, 2**32 - 1), st.integers(1, 40), st.integers(1, 9)
)


@given(st.one_of(weeks, garden_weeks))
def test_every_unit_goes_once_to_somebody_who_may_or_is_named(week: MadeUpWeek) -> None:
    found = week.shared()
    loads = list(week.has)
    nobody = []
    for unit, who in enumerate(found.who):
        if who is None:
            nobody.append(unit)
        else:
            assert week.may[unit, who]
            loads[who] += week.minutes[unit]
    assert tuple(loads) == found.loads
    assert sorted((*found.not_allowed, *found.no_room)) == nobody
    assert all(not week.may[unit].any() for unit in found.not_allowed)
    assert all(week.may[unit].any() for unit in found.no_room)
    for load, limit, had in zip(loads, week.limits, week.has, strict=True):
        assert limit is None or load <= max(limit, had)
    assert found.least <= found.heaviest
    for person in found.heavier:
        assert loads[person] == week.has[person] >= found.heaviest


@given(weeks, st.randoms())
def test_the_order_of_people_changes_no_load(week: MadeUpWeek, random) -> None:
    order = list(range(len(week.has)))
    random.shuffle(order)
    turned = MadeUpWeek(
        week.minutes,
        week.may[:, order],
        [week.has[each] for each in order],
        [week.limits[each] for each in order],
    )
    assert sorted(turned.shared().loads) == sorted(week.shared().loads)


@given(garden_weeks)
def test_the_same_week_has_the_same_answer(week: MadeUpWeek) -> None:
    assert week.shared() == week.shared()


@given(garden_weeks)
def test_no_single_move_makes_it_more_even(week: MadeUpWeek) -> None:
    found = week.shared()
    for unit, who in enumerate(found.who):
        if who is None:
            continue
        for other in np.flatnonzero(week.may[unit]):
            after = found.loads[other] + week.minutes[unit]
            limit = week.limits[other]
            if limit is None or after <= limit:
                assert after >= found.loads[who] or other == who


def shared(minutes: list[int], people: int, **more: object) -> Allocation:
    may = more.pop("may", np.ones((len(minutes), people), dtype=bool))
    has = more.pop("has", [0] * people)
    return allocate(minutes, may, has, **more)  # type: ignore[arg-type]


def test_among_equals_the_next_heaviest_is_light_too() -> None:
    found = shared([60, 20, 20, 20, 20], 3)
    assert sorted(found.loads) == [40, 40, 60]


def test_among_equals_it_goes_where_it_suits() -> None:
    liking = np.array([[0, 0, 2], [2, 0, 0], [0, 1, 0]])
    assert shared([30, 30, 30], 3, liking=liking).who == (2, 0, 1)
    # Evenness goes first: one who likes all of it still gets one.
    all_one = np.array([[9, 0, 0]] * 3)
    assert sorted(shared([30, 30, 30], 3, liking=all_one).loads) == [30, 30, 30]


def test_whoever_has_more_than_anybody_need_have_hides_nothing() -> None:
    found = shared([30, 30, 30, 30], 3, has=[300, 0, 0])
    assert found.loads == (300, 60, 60)
    assert (found.heaviest, found.heavier, found.gap) == (60, (0,), 0)


def test_what_makes_the_heaviest_is_named() -> None:
    one_large = shared([90, 10, 10], 3)
    assert (one_large.heaviest, one_large.pinch) == (90, 0)
    ladder = np.array([[1, 1, 0, 0]] * 4 + [[1, 1, 1, 1]] * 2, dtype=bool)
    few = shared([40] * 4 + [10, 10], 4, may=ladder)
    assert (few.heaviest, few.pinched, few.pinch) == (80, (0, 1), None)
    even = shared([20] * 6, 3)
    assert (even.heaviest, even.pinched) == (40, (0, 1, 2))


def test_what_nobody_can_do_is_told_apart() -> None:
    may = np.array([[False, False], [True, False], [True, True]])
    found = shared([30, 90, 20], 2, may=may, limits=[60, None])
    assert found.who[:2] == (None, None)
    assert (found.not_allowed, found.no_room) == ((0,), (1,))


def test_limits_leave_over_as_little_as_can_be() -> None:
    # The longest first would fill 60 with 40 and leave both 30s.
    found = shared([40, 30, 30], 1, limits=[60])
    assert found.loads == (60,)
    assert found.no_room == (0,)
    assert found.left_over_proven


def test_nothing_and_nobody() -> None:
    assert shared([], 2).loads == (0, 0)
    assert shared([], 0).who == ()
    assert shared([10], 0).not_allowed == (0,)


@pytest.mark.parametrize(
    ("minutes", "has", "limits"),
    [([0], [0], [None]), ([-5], [0], [None]), ([10], [-1], [None]), ([10], [0], [-1]),
     ([10], [0, 0], [None]), ([10**6], [0], [None]), ([10], [0], [None, None])],
)  # fmt: skip
def test_what_cannot_be_is_refused(
    minutes: list[int], has: list[int], limits: list[int | None]
) -> None:
    with pytest.raises(ValueError, match=r"Give one row|A unit takes|A person has"):
        allocate(minutes, np.ones((1, 1), dtype=bool), has, limits=limits)


def test_the_bound_of_the_linear_programme_is_one() -> None:
    for seed in range(50):
        week = small_week(seed)
        work = made_work(week.minutes, np.ones_like(week.may), week.has, None, None)
        who = evened(work, longest_first(work))
        assert lowest(work).minutes <= work.loads(who).max()


def test_evening_out_never_makes_the_heaviest_heavier() -> None:
    for seed in range(20):
        week = large_week(seed, 60, 8)
        work = made_work(week.minutes, week.may, week.has, week.limits, None)
        start = longest_first(work)
        assert work.loads(evened(work, start)).max() <= work.loads(start).max()
        assert work.left_over(evened(work, start)) == work.left_over(start)


def test_work_too_large_to_solve_whole_proves_nothing() -> None:
    week = large_week(0, 400, 40)
    work = made_work(week.minutes, week.may, week.has, None, None)
    assert better_than(work, 10_000, 0).proven is False


@pytest.mark.parametrize("seed", range(6))
def test_five_hundred_tasks_and_sixty_people_come_out_near_the_bound(seed: int) -> None:
    found = large_week(seed, 500, 60).shared()
    assert found.gap <= 5
    assert not found.no_room


def took(act: Callable[[], object]) -> float:
    """Return the shortest of three runs, in seconds of this process."""
    times = []
    for _ in range(3):
        began = time.process_time()
        act()
        times.append(time.process_time() - began)
    return min(times)


def test_a_large_week_costs_little_more_than_one_linear_programme() -> None:
    """Against the plain relaxation of the same week, a column a unit and person, by HiGHS."""
    week = large_week(1, 500, 60)
    assert took(week.shared) < 3 * took(lambda: relaxed(week))


def relaxed(week: MadeUpWeek) -> float:
    """Solve the week's linear relaxation without grouping anything."""
    units, people = np.nonzero(week.may)
    number, count = len(units), len(week.has)
    given = coo_array((np.ones(number), (units, np.arange(number))))
    minutes = np.array(week.minutes, dtype=float)[units]
    loads = coo_array(
        (
            np.concatenate((minutes, -np.ones(count))),
            (
                np.concatenate((people, np.arange(count))),
                np.concatenate((np.arange(number), np.full(count, number))),
            ),
        )
    )
    cost = np.zeros(number + 1)
    cost[-1] = 1
    wide = coo_array((given.data, given.coords), shape=(len(week.minutes), number + 1))
    found = linprog(
        cost,
        A_ub=loads,
        b_ub=-np.array(week.has, dtype=float),
        A_eq=wide,
        b_eq=np.ones(len(week.minutes)),
    )
    return float(found.fun)
