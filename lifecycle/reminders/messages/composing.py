"""How a message is written: a composer by the message's ``about``, asked again at send time.

What a composer returns is complete in itself, in the reader's units. None says that nothing
is left to say: the message is cancelled.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from lifecycle.models import Message

SHORT_LENGTH = 160
"""Characters a push message may have."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a message: a sentence, or a link with its words; ``heading`` begins a part."""

    text: str
    url: str = ""
    heading: bool = False


@dataclass(frozen=True, slots=True)
class Composed:
    """A written message: subject, lines, and the short form for a small screen.

    ``url`` is where the short form leads.
    """

    subject: str
    lines: tuple[Line, ...]
    short: str
    url: str = ""


Composer = Callable[[Message, datetime], Composed | None]

COMPOSERS: dict[str, Composer] = {}
"""Every composer by name. ``register`` adds one; ``reminders.all_composers`` imports them all."""


ASKED_FOR: set[str] = set()
"""What the reader asked for just now: sent at any hour, whatever they chose to get."""


def register(about: str, *, asked_for: bool = False) -> Callable[[Composer], Composer]:
    """Return a decorator that makes a function the composer of ``about``.

    ``asked_for``: the reader asked for this very message, so it waits for no morning and
    offers no way to stop its kind.
    """

    def add(composer: Composer) -> Composer:
        COMPOSERS[about] = composer
        if asked_for:
            ASKED_FOR.add(about)
        return composer

    return add
