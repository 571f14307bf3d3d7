"""A routine: the same work again some days after it was last done, until an end."""

from dataclasses import dataclass
from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase

MOST = 60
"""Steps of one routine in a plan; a weekly round of the longest winter takes fewer."""


@dataclass(frozen=True, slots=True)
class Routine:
    """What is done again and again: ``gaps`` are the days to the earliest, best and latest next."""

    kind: str
    entry: Kind
    gaps: tuple[int, int, int]
    reason: str
    source: str
    setting: str = ""

    def steps(
        self,
        life: Life,
        current: Season,
        starts: date,
        outlook: Outlook,
        *,
        ends: date,
        waits: str,
    ) -> list[Step]:
        """Return the steps from ``starts`` to ``ends``; after one overdue the next is from today.

        The first waits for the step ``waits``, and every other one for the one before it.
        """
        entries = life.dates.get(self.entry, [])
        done = [day for day in entries if day >= starts]
        # What was done since the autumn keeps its number when the plant changes its quarters.
        number = sum(day >= min(starts, current.autumn.earliest) for day in entries)
        last = done[-1] if done else starts
        if life.phase is Phase.WAKING:  # the shorter interval begins with the waking
            last = max(last, life.phase_since)
        since = "Last on" if done else "Counted from"
        steps: list[Step] = []
        while len(steps) < MOST:
            window = Window(*(last + timedelta(gap) for gap in self.gaps))
            if window.best > ends or not outlook.reaches(window.earliest):
                break
            steps.append(
                Step(
                    self.kind,
                    current.year,
                    number + len(steps) + 1,
                    window,
                    starts,
                    "the time before",
                    self.reason if steps else f"{self.reason} {since} {{{last}}}.",
                    self.source,
                    self.kind if steps else waits,
                    self.setting,
                )
            )
            last = max(window.best, outlook.today)
        return steps
