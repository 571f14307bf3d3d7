"""What a step is: something the plan says is coming, with window, reason and source."""

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Window:
    """From the earliest day to the latest, with the best between them."""

    earliest: date
    best: date
    latest: date

    def __post_init__(self) -> None:
        if not self.earliest <= self.best <= self.latest:
            raise ValueError(f"Window out of order: {self.earliest} {self.best} {self.latest}")

    def not_before(self, day: date) -> "Window":
        """Return the window with nothing of it before ``day``."""
        return Window(max(self.earliest, day), max(self.best, day), max(self.latest, day))

    def not_after(self, day: date) -> "Window":
        """Return the window with nothing of it after ``day``."""
        return Window(min(self.earliest, day), min(self.best, day), min(self.latest, day))


def around(day: date, before: int, after: int) -> Window:
    """Return the window from ``before`` days before ``day`` to ``after`` days after it."""
    return Window(day - timedelta(before), day, day + timedelta(after))


def ahead_of(day: date, farthest: int, best: int, nearest: int) -> Window:
    """Return the window that lies ``farthest`` to ``nearest`` days ahead of ``day``."""
    return Window(day - timedelta(farthest), day - timedelta(best), day - timedelta(nearest))


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a plan, identified by (plant or sowing, kind, growing year, number).

    ``counts_from``: an entry of the step's kind on or after this day does the step.
    ``waits_for``: the kind of the step that must come first, or "" when it can be done.
    ``reason`` holds its numbers in SI between braces; ``wording.in_units`` writes them out.
    ``setting`` is the key of the setting (``policy.SETTINGS``) that could change the step, or "".
    """

    kind: str
    growing_year: int
    number: int
    window: Window
    counts_from: date
    anchor: str
    reason: str
    source: str
    waits_for: str = ""
    setting: str = ""

    @property
    def identity(self) -> tuple[str, int, int]:
        """The step's identity within its plant or sowing."""
        return (self.kind, self.growing_year, self.number)
