"""Sharing out work against published worst cases of makespan scheduling.

R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM Journal on Applied Mathematics 17
(1969) 416-429. Jobs and ratios are from memory, not read in the paper; each instance is checked
here by its own arithmetic: total work over the number of machines is its optimum.
"""

import numpy as np
import pytest

from lifecycle.agronomy.allocation import allocate
from lifecycle.agronomy.allocation_search import longest_first
from lifecycle.agronomy.allocation_work import made_work

pytestmark = pytest.mark.external

MACHINES = (2, 3, 4, 5, 6, 8)


def worst_for_longest_first(machines: int) -> list[int]:
    """Return 2m-1, 2m-1, ..., m+1, m+1, m, m, m: optimum 3m, longest first 4m-1."""
    pairs = [length for length in range(2 * machines - 1, machines, -1) for _ in range(2)]
    return [*pairs, *[machines] * 3]


@pytest.mark.parametrize("machines", MACHINES)
def test_the_worst_case_of_longest_first_is_solved(machines: int) -> None:
    jobs = worst_for_longest_first(machines)
    assert sum(jobs) == 3 * machines * machines
    may = np.ones((len(jobs), machines), dtype=bool)
    found = allocate(jobs, may, [0] * machines)
    assert (found.heaviest, found.least) == (3 * machines, 3 * machines)


@pytest.mark.parametrize("machines", MACHINES)
def test_longest_first_alone_is_as_bad_as_published(machines: int) -> None:
    jobs = worst_for_longest_first(machines)
    work = made_work(jobs, np.ones((len(jobs), machines), dtype=bool), [0] * machines, None, None)
    heaviest = int(work.loads(longest_first(work)).max())
    assert heaviest == 4 * machines - 1
    # Its bound: no more than 4/3 - 1/(3m) of the optimum.
    assert heaviest * 3 * machines == 3 * machines * (4 * machines - 1)


@pytest.mark.parametrize("machines", MACHINES)
def test_the_worst_case_of_any_list_is_solved(machines: int) -> None:
    # m(m-1) jobs of 1 and one of m: a list that ends with the long one takes 2m-1, the best m.
    jobs = [1] * (machines * (machines - 1)) + [machines]
    found = allocate(jobs, np.ones((len(jobs), machines), dtype=bool), [0] * machines)
    assert (found.heaviest, found.gap) == (machines, 0)
