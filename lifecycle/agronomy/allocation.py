"""Who does what, so that the heaviest load is as small as it can be.

Of all divisions one is sought that leaves the fewest minutes to nobody, then has the smallest
heaviest load, then is the most even, then suits people best. Whoever has more already than
anybody need have is left out first, so that their load hides nobody else's.

The heaviest load is proven least where the linear programme's bound is reached, or the integer
programme says so; where neither does, ``gap`` tells how far off it may be. The rest is evened
out by moves and exchanges until none helps. Equal questions get equal answers.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from lifecycle.agronomy.allocation_exact import Bound, better_than, least_left_over, lowest
from lifecycle.agronomy.allocation_search import evened, longest_first
from lifecycle.agronomy.allocation_work import NOBODY, Flags, Whole, Work, made_work

FEW, TIMES_AMONG_FEW = 6, 12
"""People who share out anew at a time, and how often at most."""


@dataclass(frozen=True, slots=True)
class Allocation:
    """Who does each unit, by their number, and what comes of it.

    ``who`` has None for a unit that is left over: its number is in ``not_allowed`` where nobody
    may do it, else in ``no_room``: the limits of those who may are too small. ``heaviest`` is the
    heaviest of the loads that could be lighter or heavier; ``heavier`` are the people who had
    more before, and get nothing. ``least``: no division has a heaviest load below it. It is so
    because of ``pinched``: what they have, with the units ``confined`` that only they of all but
    the ``heavier`` can take, comes to it between them; or because of the one unit ``pinch`` alone.
    Both are empty where neither explains it. ``left_over_proven``: no division leaves fewer
    minutes over.
    """

    who: tuple[int | None, ...]
    loads: tuple[int, ...]
    heaviest: int
    least: int
    heavier: tuple[int, ...]
    pinched: tuple[int, ...]
    confined: tuple[int, ...]
    pinch: int | None
    not_allowed: tuple[int, ...]
    no_room: tuple[int, ...]
    left_over_proven: bool

    @property
    def gap(self) -> int:
        """Minutes by which the heaviest load may be above the least possible; 0: it is proven."""
        return self.heaviest - self.least


def allocate(
    minutes: Sequence[int],
    may: ArrayLike,
    has: Sequence[int],
    *,
    limits: Sequence[int | None] | None = None,
    liking: ArrayLike | None = None,
) -> Allocation:
    """Share out units of ``minutes`` among people who have ``has`` minutes already.

    ``may`` has a row a unit and a column a person. ``limits`` are minutes that a person's whole
    load is not to pass, None: no limit. ``liking`` is higher where a unit had better go to a
    person. Raises ValueError for sizes that do not match and minutes that cannot be.
    """
    given = made_work(minutes, may, has, limits, liking)
    # In an order of their own, so that nothing hangs on the order in which people are named.
    people = np.lexsort((*given.may[::-1], given.room, given.has))
    units = np.arange(len(given.minutes))
    work = given.among(units >= 0, people)
    work = replace(work, may=work.fits())
    to_share = work.doable()
    who = np.full(len(units), NOBODY, dtype=np.int64)
    part = work.among(to_share, np.ones(len(people), dtype=bool))
    found, left_proven = _least_left(part)
    kept = _able_to_help(part, found)
    shared = part.among(np.ones(len(found), dtype=bool), kept)
    inside = np.flatnonzero(kept)
    within, bound = _least_heavy(shared, _numbered_within(found, kept))
    who[to_share] = np.where(within == NOBODY, NOBODY, inside[within]) if inside.size else NOBODY
    return _told(given, people, who, kept, to_share, bound, left_proven)


def _numbered_within(who: Whole, kept: Flags) -> Whole:
    """Return who does what, by the numbers among those who are kept."""
    numbers = np.cumsum(kept) - 1
    return np.where((who == NOBODY) | ~kept[who], NOBODY, numbers[who])


def _least_left(work: Work) -> tuple[Whole, bool]:
    """Return a division that leaves the fewest minutes over, and whether that is proven."""
    who = evened(work, longest_first(work))
    # A unit that fitted nowhere may fit now that loads are even.
    who = evened(work, longest_first(work, who))
    if not work.left_over(who):
        return who, True
    least = least_left_over(work)
    if least is None:
        return who, False
    if least.who is not None and work.left_over(least.who) < work.left_over(who):
        who = evened(work, least.who)
    return who, least.proven


def _able_to_help(work: Work, who: Whole) -> Flags:
    """Return who is to get anything: those who have less than the others can make do with.

    Whoever has as much before as the heaviest of the others has in the end gets nothing in any
    division that is best. The fewest are sought, by halving, who can do it all by themselves.
    """
    left = work.left_over(who)
    levels = np.unique(work.has)
    low, high = 0, len(levels)
    while low < high:
        middle = (low + high) // 2
        some = work.has < levels[middle]
        part = work.among(np.ones(len(who), dtype=bool), some)
        tried = evened(part, longest_first(part)) if some.any() else None
        if tried is not None and _is_enough(part, tried, left, int(levels[middle])):
            high = middle
        else:
            low = middle + 1
    below = levels[low] if low < len(levels) else levels.max(initial=0) + 1
    return np.asarray(work.has < below, dtype=bool)


def _is_enough(part: Work, who: Whole, left: int, level: int) -> bool:
    return part.left_over(who) <= left and int(part.loads(who).max()) <= level


def _least_heavy(work: Work, start: Whole) -> tuple[Whole, Bound]:
    """Return a division whose heaviest load is least, and the proven bound on it."""
    if not len(work.minutes) or not len(work.has):
        return start, Bound(int(work.has.max(initial=0)), ())
    left = work.left_over(start)
    again = evened(work, longest_first(work))
    best = min(
        (each for each in (start, again) if work.left_over(each) == left),
        key=lambda each: (int(work.loads(each).max()), int((work.loads(each) ** 2).sum())),
    )
    bound = lowest(work, left)
    best = evened(work, _again_among_few(work, best, bound.minutes))
    heaviest = int(work.loads(best).max())
    better = better_than(work, heaviest, bound.minutes, left)
    if better.who is not None:
        best = evened(work, better.who)
        heaviest = int(work.loads(best).max())
    if better.proven and heaviest > bound.minutes:
        # Nobody and no single unit explains a bound that only the search found.
        bound = Bound(heaviest, ())
    return best, bound


def _again_among_few(work: Work, who: Whole, bound: int) -> Whole:
    """Return ``who`` after the heaviest and the lightest who could relieve them shared out anew.

    It is the way for work too large to be solved whole, and a short one for other work.
    """
    for _ in range(TIMES_AMONG_FEW):
        loads = work.loads(who)
        heaviest = int(loads.argmax())
        if loads[heaviest] <= bound:
            break
        able = work.may[who == heaviest].any(axis=0)
        able[heaviest] = False
        lightest = np.flatnonzero(able)[np.argsort(loads[able], kind="stable")][: FEW - 1]
        few = np.append(heaviest, lightest)
        theirs = np.isin(who, few)
        better = better_than(work.among(theirs, few), int(loads[heaviest]), bound)
        if better.who is None:
            break
        who = who.copy()
        who[theirs] = few[better.who]
    return who


def _told(
    given: Work,
    people: Whole,
    who: Whole,
    kept: Flags,
    shared: Flags,
    bound: Bound,
    left_proven: bool,
) -> Allocation:
    """Return the answer by the numbers under which people were given."""
    doers = np.where(who == NOBODY, NOBODY, people[who]) if len(people) else who
    loads = given.loads(doers)
    inside = people[kept]
    heaviest = int(loads[inside].max(initial=0))
    units = np.flatnonzero(shared)
    left = np.flatnonzero(doers == NOBODY)
    allowed = given.doable()
    return Allocation(
        who=tuple(None if each == NOBODY else int(each) for each in doers),
        loads=tuple(int(each) for each in loads),
        heaviest=heaviest,
        least=min(bound.minutes, heaviest),
        heavier=tuple(sorted(int(each) for each in people[~kept])),
        pinched=tuple(sorted(int(inside[each]) for each in bound.people)),
        confined=tuple(int(units[each]) for each in bound.units),
        pinch=None if bound.unit is None else int(units[bound.unit]),
        not_allowed=tuple(int(each) for each in left if not allowed[each]),
        no_room=tuple(int(each) for each in left if allowed[each]),
        left_over_proven=left_proven,
    )
