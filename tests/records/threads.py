"""Many people at once: each thread with a connection of its own, all starting together."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import TypeVar

from django.db import connection

T = TypeVar("T")


def all_at_once(number: int, act: Callable[[int], T]) -> list[T | Exception]:
    """Call ``act`` in ``number`` threads at the same moment; what each gave or raised."""
    together = Barrier(number)

    def one(index: int) -> T | Exception:
        try:
            together.wait(timeout=20)
            return act(index)
        except Exception as problem:  # noqa: BLE001 - the test looks at it
            return problem
        finally:
            connection.close()

    with ThreadPoolExecutor(number) as pool:
        return list(pool.map(one, range(number)))
