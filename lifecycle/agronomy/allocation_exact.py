"""Sharing out work by integer programming (HiGHS): bounds, and the best there is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, linprog, milp
from scipy.sparse import csr_array

from lifecycle.agronomy.allocation_work import NOBODY, Flags, Whole, Work

MOST_CHOICES = 500
"""Kinds of unit times people up to which the integer programme is tried."""

NODES, SECONDS = 400, 10.0
"""Where a search that proves nothing ends: by its nodes, so that it ends alike on every machine.

The seconds are for a machine on which even so many nodes take too long.
"""

INFEASIBLE = 2
_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Bound:
    """No division has a heaviest load below ``minutes``; ``people`` are those who make it so.

    They have the ``units`` between them, which nobody else can take. ``unit``: the one unit that
    alone makes it so, or None.
    """

    minutes: int
    people: tuple[int, ...]
    units: tuple[int, ...] = ()
    unit: int | None = None


@dataclass(frozen=True, slots=True)
class _Kinds:
    """Units that are alike, counted: minutes, who may do them, and the units of each kind."""

    minutes: Whole
    may: Flags
    units: tuple[Whole, ...]

    @property
    def counts(self) -> Whole:
        return np.array([len(each) for each in self.units], dtype=np.int64)


def lowest(work: Work, left_over: int = 0) -> Bound:
    """Return the bound of the work as if it could be divided at will, and of its single units.

    ``left_over`` minutes go to nobody.
    """
    alone = np.where(work.may, work.has[None, :] + work.minutes[:, None], _never()).min(axis=1)
    unit = int(alone.argmax())
    most_has = int(work.has.argmax())
    found = _explained(work, _as_fluid(work, left_over), left_over)
    if left_over == 0 and alone[unit] >= found.minutes:
        found = Bound(int(alone[unit]), (), unit=unit)
    if work.has[most_has] > found.minutes:
        found = Bound(int(work.has[most_has]), (most_has,))
    return found


def _explained(work: Work, found: Bound, left_over: int) -> Bound:
    """Return the bound with the units that make it so, or without people where they do not.

    They do not where others are kept from taking more by their limits, or minutes are left over.
    """
    people = np.array(found.people, dtype=np.int64)
    others = np.ones(len(work.has), dtype=bool)
    others[people] = False
    units = np.flatnonzero(~work.may[:, others].any(axis=1))
    theirs = int(work.minutes[units].sum() + work.has[people].sum())
    if left_over or not people.size or _up(theirs / people.size, work.step) < found.minutes:
        return Bound(found.minutes, ())
    return Bound(found.minutes, found.people, tuple(units.tolist()))


def _up(minutes: float, step: int) -> int:
    """Return the least possible load of so many minutes or more."""
    return int(np.ceil(minutes / step - _TOLERANCE)) * step


def _as_fluid(work: Work, left_over: int) -> Bound:
    """Return the bound of the linear programme: minutes of each mask, poured out to people."""
    masks, which = np.unique(work.may, axis=0, return_inverse=True)
    totals = np.bincount(which.reshape(-1), weights=work.minutes, minlength=len(masks))
    rows, people = np.nonzero(masks)
    number, groups = len(rows), len(masks)
    # One pour a mask and person, then what each mask leaves over, then the heaviest load.
    columns = number + groups + 1
    pours, spare, top = np.arange(number), number + np.arange(groups), columns - 1
    each = np.ones(number)
    equal = csr_array(
        (
            np.ones(number + 2 * groups),
            (
                np.concatenate((rows, np.arange(groups), np.full(groups, groups))),
                np.concatenate((pours, spare, spare)),
            ),
        ),
        shape=(groups + 1, columns),
    )
    count = len(work.has)
    loads = csr_array(
        (
            np.concatenate((each, -np.ones(count))),
            (
                np.concatenate((people, np.arange(count))),
                np.concatenate((pours, np.full(count, top))),
            ),
        ),
        shape=(count, columns),
    )
    takes = csr_array((each, (people, pours)), shape=(count, columns))
    cost = np.zeros(columns)
    cost[top] = 1
    limited = work.room < totals.sum()
    upper = csr_stack((loads, takes[np.flatnonzero(limited)]) if limited.any() else (loads,))
    found = linprog(
        cost,
        A_ub=upper,
        b_ub=np.concatenate((-work.has, work.room[limited])).astype(float),
        A_eq=equal,
        b_eq=np.append(totals, left_over),
        method="highs",
    )
    if found.status != 0:
        return Bound(0, ())
    minutes = _up(found.fun, work.step)
    weights = found.ineqlin.marginals[:count]
    return Bound(minutes, tuple(np.flatnonzero(weights < -_TOLERANCE).tolist()))


def csr_stack(parts: Sequence[csr_array]) -> csr_array:
    """Return sparse rows one below the other."""
    return csr_array(np.vstack([part.toarray() for part in parts]))


@dataclass(frozen=True, slots=True)
class Better:
    """What the integer programme found: who does what, or None; and if nothing is better."""

    who: Whole | None
    proven: bool


def least_left_over(work: Work) -> Better | None:
    """Look for a division that leaves the fewest minutes over; None where the work is too large."""
    kinds = _kinds_of(work)
    if len(kinds.units) * len(work.has) > MOST_CHOICES:
        return None
    found = _programme(work, kinds, left_over=None, between=None)
    if found.x is None:
        return Better(None, proven=False)
    return Better(_handed_out(work, kinds, found.x), proven=found.status == 0)


def better_than(work: Work, heaviest: int, bound: int, left_over: int = 0) -> Better:
    """Look for a division whose heaviest load is least, below ``heaviest`` and from ``bound``.

    ``proven``: with no ``who``, that there is none; with one, that none is better.
    """
    kinds = _kinds_of(work)
    highest = heaviest - work.step
    if highest < bound:
        return Better(None, proven=True)
    if len(kinds.units) * len(work.has) > MOST_CHOICES:
        return Better(None, proven=False)
    found = _programme(work, kinds, left_over=left_over, between=(bound, highest))
    if found.x is None:
        return Better(None, proven=found.status == INFEASIBLE)
    return Better(_handed_out(work, kinds, found.x), proven=found.status == 0)


def _kinds_of(work: Work) -> _Kinds:
    table = np.column_stack((work.minutes, work.may.astype(np.int64)))
    rows, which = np.unique(table, axis=0, return_inverse=True)
    order = which.reshape(-1)
    units = tuple(np.flatnonzero(order == number) for number in range(len(rows)))
    return _Kinds(rows[:, 0], rows[:, 1:].astype(bool), units)


def _programme(
    work: Work, kinds: _Kinds, *, left_over: int | None, between: tuple[int, int] | None
) -> OptimizeResult:
    """Solve for counts of each kind by person, and of each kind left over.

    With ``between`` for the least heaviest load between these, leaving just ``left_over``
    minutes; else for the fewest minutes left over.
    """
    rows, people = np.nonzero(kinds.may)
    pairs, number, count = len(rows), len(kinds.units), len(work.has)
    columns = pairs + number + 1
    spare, top = np.arange(pairs, pairs + number), columns - 1
    all_given = np.zeros((number, columns))
    all_given[rows, np.arange(pairs)] = 1
    all_given[np.arange(number), spare] = 1
    takes = np.zeros((count, columns))
    takes[people, np.arange(pairs)] = kinds.minutes[rows]
    left = np.zeros(columns)
    left[spare] = kinds.minutes
    heaviest = np.zeros(columns)
    heaviest[top] = 1
    lower = np.zeros(columns)
    upper = np.concatenate((kinds.counts[rows], kinds.counts, [0])).astype(float)
    constraints = [
        LinearConstraint(all_given, kinds.counts, kinds.counts),
        LinearConstraint(takes, -np.inf, work.room.astype(float)),
    ]
    if between is not None:
        lower[top], upper[top] = between
        constraints += [
            LinearConstraint(takes - heaviest, -np.inf, -work.has.astype(float)),
            LinearConstraint(left[None, :], left_over, left_over),
        ]
    return milp(
        left if between is None else heaviest,
        integrality=1 - heaviest,
        bounds=Bounds(lower, upper),
        constraints=constraints,
        options={"mip_rel_gap": 0, "node_limit": NODES, "time_limit": SECONDS},
    )


def _handed_out(work: Work, kinds: _Kinds, found: NDArray[np.float64]) -> Whole:
    """Return who does what, from the counts of each kind by person."""
    who = np.full(len(work.minutes), NOBODY, dtype=np.int64)
    rows, people = np.nonzero(kinds.may)
    counts = np.round(found[: len(rows)]).astype(np.int64)
    for row, units in enumerate(kinds.units):
        here = rows == row
        takers = np.repeat(people[here], counts[here])
        who[units[: len(takers)]] = takers
    return who


def _never() -> int:
    return int(np.iinfo(np.int64).max)
