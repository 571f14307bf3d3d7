"""A short stretch that a polite request to stop must wait for; nothing stops a kill."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

POLITE = (signal.SIGINT, signal.SIGTERM)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Hold back INT and TERM until the end of the block.

    The scheduler of the embedded mode would else be stopped between a mail and its stamp, and
    a restart would repeat the mail. Handlers run in the main thread alone, so elsewhere there
    is nothing to hold back. Masking would not do: a thread of a library would take the signal.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    ours = [number for number in POLITE if signal.getsignal(number) is not None]
    before = {number: signal.signal(number, lambda got, _: came.append(got)) for number in ours}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        for got in dict.fromkeys(came):
            signal.raise_signal(got)
