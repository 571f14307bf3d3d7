"""Sharing out work by hand, as it were: the longest first, then exchange whatever evens it out."""

import numpy as np

from lifecycle.agronomy.allocation_work import NOBODY, Whole, Work

ROUNDS = 200
"""Times that everybody's share is gone through; few are ever needed."""

_NEVER = np.iinfo(np.int64).max


def longest_first(work: Work, who: Whole | None = None) -> Whole:
    """Give each unit, the longest first, to whoever has least; return who does what.

    Among units of one length those go first that fewest may do (Graham 1969 calls the rule LPT).
    A unit that fits nobody's limit is left over. ``who`` holds what is given already.
    """
    who = np.full(len(work.minutes), NOBODY, dtype=np.int64) if who is None else who.copy()
    loads = work.loads(who)
    most = work.has + work.room
    order = np.lexsort((work.may.sum(axis=1), -work.minutes))
    for unit in order[who[order] == NOBODY]:
        minutes = work.minutes[unit]
        able = np.flatnonzero(work.may[unit] & (loads + minutes <= most))
        if able.size:
            best = able[np.lexsort((-work.liking[unit, able], loads[able]))[0]]
            who[unit] = best
            loads[best] += minutes
    return who


def evened(work: Work, who: Whole) -> Whole:
    """Return ``who`` after every move and exchange that evens out the loads.

    The sum of the squared loads falls with each, or stays while a unit comes to whom it suits
    better. The heaviest load never rises: what the lighter of two takes over leaves it below
    the heavier one.
    """
    who = who.copy()
    loads = work.loads(who)
    # Evenness counts first, whatever suits whom.
    weight = 1 + 4 * int(np.abs(work.liking).max(initial=0))
    for _ in range(ROUNDS):
        moved = False
        for person in np.argsort(-loads, kind="stable"):
            while _one_better(work, who, loads, int(person), weight):
                moved = True
        if not moved:
            break
    return who


def _one_better(work: Work, who: Whole, loads: Whole, person: int, weight: int) -> bool:
    """Do the best move or exchange of what ``person`` has; False where none is better."""
    own = np.flatnonzero(who == person)
    if not own.size:
        return False
    moves = _moves(work, own, loads, person, weight)
    swaps = _swaps(work, own, who, loads, person, weight)
    move, swap = int(moves.argmin()), int(swaps.argmin())
    if min(moves.flat[move], swaps.flat[swap]) >= 0:
        return False
    if moves.flat[move] <= swaps.flat[swap]:
        unit, to = own[move // moves.shape[1]], move % moves.shape[1]
    else:
        unit, other = own[swap // swaps.shape[1]], swap % swaps.shape[1]
        to = who[other]
        who[other] = person
        loads[person] += work.minutes[other]
        loads[to] -= work.minutes[other]
    who[unit] = to
    loads[to] += work.minutes[unit]
    loads[person] -= work.minutes[unit]
    return True


def _moves(work: Work, own: Whole, loads: Whole, person: int, weight: int) -> Whole:
    """Return what it changes to give each unit of ``person`` to each other person."""
    minutes = work.minutes[own][:, None]
    squares = 2 * minutes * (loads[None, :] - loads[person] + minutes)
    better = work.liking[own] - work.liking[own, person][:, None]
    most = work.has + work.room
    possible = work.may[own] & (loads[None, :] + minutes <= most[None, :])
    possible[:, person] = False
    return np.where(possible, squares * weight - better, _NEVER)


def _swaps(work: Work, own: Whole, who: Whole, loads: Whole, person: int, weight: int) -> Whole:
    """Return what it changes to exchange each unit of ``person`` with each unit of others."""
    more = work.minutes[own][:, None] - work.minutes[None, :]
    theirs = loads[who][None, :]
    squares = 2 * more * (theirs - loads[person] + more)
    all_units = np.arange(len(who))
    better = (
        work.liking[own][:, who]
        - work.liking[own, person][:, None]
        + (work.liking[:, person] - work.liking[all_units, who])[None, :]
    )
    most = work.has + work.room
    possible = (
        work.may[own][:, who]
        & work.may[:, person][None, :]
        & ((who != NOBODY) & (who != person))[None, :]
        & (theirs + more <= most[who][None, :])
        & (loads[person] - more <= most[person])
    )
    return np.where(possible, squares * weight - better, _NEVER)
