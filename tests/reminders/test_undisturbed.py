"""A polite request to stop waits until the stamp is written."""

import signal
from collections.abc import Iterator

import pytest

from lifecycle.reminders.messages.undisturbed import POLITE, undisturbed
from tests.records.threads import all_at_once


class Stopped(Exception):
    """What the scheduler's handler raises, wherever the program happens to be."""


@pytest.fixture(params=POLITE)
def number(request: pytest.FixtureRequest) -> Iterator[int]:
    def stop(*_: object) -> None:
        raise Stopped

    before = signal.signal(request.param, stop)
    try:
        yield request.param
    finally:
        signal.signal(request.param, before)


def test_it_stops_after_the_block(number: int) -> None:
    done: list[str] = []

    def send(times: int) -> None:
        with undisturbed():
            for _ in range(times):
                signal.raise_signal(number)
            done.extend(["sent", "stamped"])
        done.append("the next one")

    with pytest.raises(Stopped):
        send(times=2)
    assert done == ["sent", "stamped"]


def test_outside_it_stops_at_once(number: int) -> None:
    with undisturbed():
        pass
    with pytest.raises(Stopped):
        signal.raise_signal(number)


def test_a_fault_inside_restores_the_handlers(number: int) -> None:
    handler = signal.getsignal(number)
    with pytest.raises(KeyError), undisturbed():
        raise KeyError
    assert signal.getsignal(number) is handler


@pytest.mark.django_db
def test_other_threads_leave_the_handlers_alone(number: int) -> None:
    def inside(_: int) -> bool:
        handler = signal.getsignal(number)
        with undisturbed():
            return signal.getsignal(number) is handler

    assert all_at_once(2, inside) == [True, True]
